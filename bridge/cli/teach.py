"""``lampwright teach``: put a word that no reader maps into the reader's file."""

from __future__ import annotations

import argparse
import difflib
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.one_line import one_line

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from bridge.settings.teaching import Lesson, Taught


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "teach",
        help=COMMANDS["teach"],
        description="Adds a word and its meaning to the reader of a printer. The file keeps every "
        "other character, and is written only when the whole site with it is right. What waits "
        "to be taught is listed by: lampwright words.",
        epilog="example: lampwright teach config kestrel state adrift stopped",
    )
    add_site(parser)
    parser.add_argument("printer", metavar="PRINTER", help="a printer that has the reader")
    parser.add_argument("fact", metavar="FACT", help="what the word is about, such as state")
    parser.add_argument(
        "word",
        metavar="WORD",
        help="the word as the reader's file would have it: 20 is a number, '\"20\"' a text",
    )
    parser.add_argument(
        "meaning",
        metavar="MEANING",
        help="such as stopped; for reasons none, a keyword with or without a suffix, or several "
        "between commas",
    )
    parser.add_argument(
        "--way",
        type=_way,
        metavar="N",
        help="which of the ways to find the fact it was read in, from 1, where several map words",
    )
    parser.add_argument("--dry-run", action="store_true", help="only show what would change")
    parser.set_defaults(run=run)


def _way(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or len(text) > 4 or int(text) < 1:
        raise argparse.ArgumentTypeError(f"'{text}' is no number from 1")
    return int(text) - 1


def run(arguments: argparse.Namespace) -> int:
    """Teach."""
    from bridge.settings.teaching import Lesson, SeveralWaysError, teach, write

    directory = site_directory(arguments.site)
    lesson = Lesson(
        arguments.printer, arguments.fact, arguments.word, arguments.meaning, arguments.way
    )
    try:
        taught = teach(directory, lesson)
    except SeveralWaysError:
        way = _way_met(directory, lesson)
        if way is None:
            raise
        taught = teach(directory, replace(lesson, way=way))
    if not arguments.dry_run:
        write(directory, taught)
    for line in _difference(taught) if arguments.dry_run else _told(taught, lesson):
        print(one_line(line))
    return 0


def _way_met(directory: Path, lesson: Lesson) -> int | None:
    """In which way the running bridge met the word, if one runs and has."""
    from bridge.cli.words import running_words
    from bridge.errors import LampwrightError

    said = {lesson.word, f"bit {lesson.word}"}
    with suppress(LampwrightError):  # a person can say it instead
        for met in running_words(directory):
            word = met.word
            if (met.printer, word.fact) == (lesson.printer, lesson.fact) and word.word in said:
                return word.alternative
    return None


def _difference(taught: Taught) -> Iterator[str]:
    before, after = taught.before.splitlines(), taught.after.splitlines()
    yield from difflib.unified_diff(before, after, taught.file, taught.file, lineterm="")
    yield from _others(taught)


def _told(taught: Taught, lesson: Lesson) -> Iterator[str]:
    yield f"{taught.file}:{taught.line}: {lesson.fact} knows now {taught.entry}"
    yield from _others(taught)
    yield "a bridge that runs goes on as it was until it starts again"


def _others(taught: Taught) -> Iterator[str]:
    if taught.others:
        yield f"reader {taught.reader} is also that of {' and '.join(taught.others)}"
