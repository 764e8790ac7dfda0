"""``lampwright words``: the words that no reader maps, and how each can be taught."""

from __future__ import annotations

import argparse
import json
import os
import shlex
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError
from bridge.one_line import one_line

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from bridge.engine.site import Site
    from bridge.facts.words import WordRecord
    from bridge.service.word_lines import MetWord

#: What ``codes.written`` does not write out: no reader can map it.
_NO_WORDS: Final = ("{…}", "[…]")
_CUT: Final = "…"


class WordsError(LampwrightError):
    """The command line does not fit the site."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "words",
        help=COMMANDS["words"],
        description="Lists the words, codes and bits that no reader maps: whose they are, when "
        "and how often they were met, beside what, and the command that teaches each. Without "
        "--message and --recording the running bridge is asked.",
        epilog="example: lampwright words config --printer plover --message page=now.json",
    )
    add_site(parser)
    parser.add_argument("--printer", metavar="P", help="only those of this printer")
    parser.add_argument(
        "--message",
        action="append",
        default=[],
        metavar="NAME[@ADDRESS]=FILE",
        help="with --printer: read these messages instead, as explain does",
    )
    parser.add_argument(
        "--recording",
        metavar="FILE",
        action="append",
        type=Path,
        help="list what was met in a recording (lampwright run --record); of one that goes on in "
        "a second file, first FILE.1, then FILE",
    )
    parser.add_argument("--json", action="store_true", help="for programs")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """List."""
    from bridge.settings.load import load_site

    if arguments.recording:
        site, found = _recorded(arguments)
    else:
        directory = site_directory(arguments.site)
        site = load_site(directory)
        found = _met(arguments, directory, site)
    met = sorted(found, key=lambda one: (one.printer, one.word.fact))
    if arguments.json:
        print(json.dumps({"words": [plain(each, site) for each in met]}))
        return 0
    lines = [line for each in met for line in _lines(each, site, arguments.site)]
    for line in lines or ["every word is mapped"]:
        print(one_line(line))
    return 0


def _recorded(arguments: argparse.Namespace) -> tuple[Site, list[MetWord]]:
    """With the site that was recorded."""
    from bridge.cli.explain import printer_named
    from bridge.cli.recorded import pictured_at, recorded
    from bridge.service.word_lines import words_met

    if arguments.message:
        raise WordsError("a recording has its own messages: give --recording alone")
    then = pictured_at(recorded(arguments.recording), None)
    if arguments.printer is not None:
        printer_named(then.site.printers, arguments.printer)
    met = words_met(then.view)
    return then.site, [each for each in met if arguments.printer in {None, each.printer}]


def _met(arguments: argparse.Namespace, directory: Path, site: Site) -> list[MetWord]:
    from bridge.cli.explain import NotTakenError, given_message, printer_named, view_after
    from bridge.service.word_lines import words_met

    if arguments.printer is None:
        if arguments.message:
            raise WordsError("--message needs --printer, whose message it is")
        return list(running_words(directory))
    printer = printer_named(site.printers, arguments.printer)
    if not arguments.message:
        return [each for each in running_words(directory) if each.printer == printer.name]
    given = [given_message(printer, text) for text in arguments.message]
    after = view_after(site, printer, given)
    if after.not_taken:
        raise NotTakenError(after.not_taken)
    return list(words_met(after.view))


def running_words(directory: Path) -> tuple[MetWord, ...]:
    """Those that the running bridge of a site has met; raises a ``LampwrightError``."""
    from bridge.cli.asking import Daemon, RefusedError
    from bridge.recording.plain import NotOfTypeError
    from bridge.service.word_lines import words_of

    with Daemon(directory, os.environ) as daemon:
        answer = daemon.ask({"ask": "words"})
    try:
        return words_of(answer)
    except NotOfTypeError as error:
        why = f"{directory}: the daemon answers otherwise than this version: {error}"
        raise RefusedError(why) from None


def plain(met: MetWord, site: Site) -> dict[str, object]:
    """As JSON has it; ``way`` counts from 1, times are in the site's zone."""
    word = met.word
    return {
        "printer": met.printer,
        "reader": _reader(met.printer, site),
        "fact": word.fact,
        "word": word.word,
        "message": word.message,
        "address": word.address,
        "way": word.alternative + 1,
        "first": _instant(word.first_wall_ms, site.zone),
        "last": _instant(word.last_wall_ms, site.zone),
        "count": word.count,
        "beside": dict(sorted(word.beside.items())),
    }


def _reader(printer: str, site: Site) -> str:
    # The bridge that was asked may run an older site than the files have now.
    return site.printers[printer].reader.name if printer in site.printers else ""


def _instant(wall_ms: int | None, zone: ZoneInfo) -> str | None:
    if wall_ms is None:
        return None
    at = datetime.fromtimestamp(wall_ms / 1000, UTC).astimezone(zone)
    return at.isoformat(timespec="seconds")


def _lines(met: MetWord, site: Site, given: Path | None) -> Iterator[str]:
    word = met.word
    yield f"{met.printer} (reader {_reader(met.printer, site)}): {word.fact} {word.word}"
    times = "once" if word.count == 1 else f"{word.count} times"
    yield f"  met     {times}, {_when(word, site.zone)}"
    yield f"  in      {word.message} ({word.address})"
    beside = ", ".join(f"{fact} {said}" for fact, said in sorted(word.beside.items()))
    yield f"  beside  {beside or 'nothing else that is known'}"
    yield f"  teach   {teaching(met, site, given)}"


def _when(word: WordRecord, zone: ZoneInfo) -> str:
    first, last = (_said(each, zone) for each in (word.first_wall_ms, word.last_wall_ms))
    return f"first and last {last}" if first == last else f"first {first}, last {last}"


def _said(wall_ms: int | None, zone: ZoneInfo) -> str:
    instant = _instant(wall_ms, zone)
    return "when no clock was known" if instant is None else instant.replace("T", " ")


def teaching(met: MetWord, site: Site, given: Path | None) -> str:
    """The command that maps the word, but for what it means; or why there is none."""
    word = met.word
    if word.word in _NO_WORDS:
        return "cannot be: no reader maps an object or a list to a meaning"
    if word.word.rstrip('"').endswith(_CUT):
        return "by hand: it is too long to be shown whole"
    parts = ["lampwright", "teach", *([str(given)] if given else []), met.printer, word.fact]
    several = _ways(met, site) > 1
    way = f" --way {word.alternative + 1}" if several else ""
    return f"{shlex.join([*parts, word.word])} MEANING{way}"


def _ways(met: MetWord, site: Site) -> int:
    printer = site.printers.get(met.printer)
    rule = None if printer is None else printer.reader.facts.get(met.word.fact)
    return 0 if rule is None else len(rule.alternatives)
