"""A word that no mapping has, put into the reader of a printer: checked first, then written whole.

The text that comes of it is read as part of the whole site before it replaces the file, so that a
file which was right stays right.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from bridge.engine.site import Printer, Site
from bridge.errors import LampwrightError
from bridge.facts.codes import key_of, written
from bridge.facts.reader import Alternative
from bridge.facts.reading import has_only_text
from bridge.facts.vocabulary import FactName, Kind, fact_named
from bridge.settings.document import Document, parse
from bridge.settings.files import SUFFIX
from bridge.settings.inserting import Code, Meaning, entry_written, with_entry
from bridge.settings.load import load_site
from bridge.settings.meanings import meaning_of
from bridge.settings.nearest import listed, meant, shown
from bridge.settings.problems import Problem, SettingsError
from bridge.settings.reader_file import SEVERITIES
from bridge.settings.replacing import replace_text
from bridge.settings.spot import Spot

_MOST_BIT: Final = 63
#: Between the keywords of a code that means several.
_BETWEEN: Final = ","
#: What ``codes.written`` cuts, and what it does not write out.
_CUT, _NOT_WORDS = "…", ("{…}", "[…]")


class TeachingError(LampwrightError):
    """The word cannot be taught so; every line says what would have to be otherwise."""

    def __init__(self, *problems: str) -> None:
        super().__init__("; ".join(problems))
        self.problems = problems

    def lines(self) -> tuple[str, ...]:
        """One line a problem."""
        return self.problems


class SeveralWaysError(TeachingError):
    """Several alternatives map words, and it was not said which is to."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """What is to be taught, as a person says it.

    ``word`` is written as in the reader's file (``20`` the number, ``"20"`` the text);
    ``meaning`` is a symbol, a severity, or keywords between commas. ``way`` is which of the fact's
    alternatives, from 0, where that is known.
    """

    printer: str
    fact: str
    word: str
    meaning: str
    way: int | None = None


@dataclass(frozen=True, slots=True)
class Taught:
    """The reader's file before and after, where the new entry is, and who else has the reader."""

    file: str
    before: str
    after: str
    line: int
    entry: str
    reader: str
    others: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Way:
    """One alternative: its number from 0, its path in the file, and what takes new words there."""

    number: int
    way: Alternative
    path: tuple[object, ...]
    only_text: bool

    def __str__(self) -> str:
        """As a person finds it in the file."""
        place = self.way.at if self.way.each is None else self.way.each
        parts = [f"in {self.way.message}", f"at {place.text}" if place and place.text else ""]
        parts += [f"part {self.way.part}"] if self.way.part else []
        parts += [f"wildcard {self.way.wildcard}"] if self.way.wildcard else []
        return " ".join(filter(None, parts))


def teach(directory: Path, lesson: Lesson) -> Taught:
    """The reader's text with the word in it, checked, not yet written.

    Raises ``TeachingError``, or ``SettingsError`` where the site is not right as it is.
    """
    site = load_site(directory)
    printer = _printer(site, lesson.printer)
    file = f"readers/{printer.reader.name}{SUFFIX}"
    document, _ = parse(file, site.texts[file])
    fact = _fact(printer, document, lesson.fact)
    ways = list(_ways(printer, document, fact, graded=_is_severity(fact, lesson.meaning)))
    way = _way_for(lesson, ways, printer)
    code, meaning = _code(lesson.word, way), _meaning(fact, lesson.meaning, document)
    _refuse_known(lesson.word, code, way, document)
    after = with_entry(document.text, way.path, code, meaning)
    _check(directory, file, after)
    return Taught(
        file=file,
        before=document.text,
        after=after,
        line=parse(file, after)[0].at((*way.path, code), key=True).line,
        entry=entry_written(code, meaning),
        reader=printer.reader.name,
        others=tuple(
            each.name
            for each in site.printers.values()
            if each.reader.name == printer.reader.name and each is not printer
        ),
    )


def write(directory: Path, taught: Taught) -> None:
    """Replace the reader's file, whole or not at all; raises ``TeachingError``."""
    try:
        if not replace_text(directory / taught.file, taught.before, taught.after):
            raise TeachingError(f"{taught.file} was changed meanwhile: teach it again")
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise TeachingError(f"{taught.file} cannot be written: {why}") from None


def word_of(text: str) -> Code:
    """A word as the reader's file would have it: ``20`` is a number, ``"20"`` a text."""
    if text.startswith('"') and text.endswith('"') and len(text) > 1:
        with suppress(json.JSONDecodeError):
            return str(json.loads(text))
    # As an item of a list, where nothing at all is null and not an empty file.
    document, problems = parse("", f"- {text}")
    plain = document.data[0] if text and not problems and "\n" not in text else text
    is_code = plain is None or isinstance(plain, bool | int | float)
    return plain if is_code and "#" not in text else text


def _printer(site: Site, name: str) -> Printer:
    if name not in site.printers:
        raise TeachingError(f"{shown(name)} is no printer of site.yaml{meant(name, site.printers)}")
    return site.printers[name]


def _fact(printer: Printer, document: Document, name: str) -> FactName:
    fact = fact_named(name)
    reader = printer.reader.name
    if fact is None or name not in printer.reader.offers:
        offers = printer.reader.offers
        raise TeachingError(f"{shown(name)} is no fact of reader {reader}{meant(name, offers)}")
    if name not in document.data.get("facts", {}):
        raise TeachingError(
            f"reader {reader} has {name} from a form alone, which maps no words: "
            f"read it under facts as a part, with values"
        )
    return fact


def _is_severity(fact: FactName, meaning: str) -> bool:
    return fact.kind is Kind.REASONS and meaning in SEVERITIES


def _ways(printer: Printer, document: Document, fact: FactName, *, graded: bool) -> Iterator[_Way]:
    """The alternatives that map words; ``graded``: those that map the words for severities."""
    written_ways: Any = document.data["facts"][fact.name]
    path: tuple[object, ...] = ("facts", fact.name)
    if isinstance(written_ways, dict):
        written_ways, path = written_ways["all_of"], (*path, "all_of")
    # Alternatives that come from forms stand behind those of the file.
    for number, keys in enumerate(written_ways):
        way = printer.reader.facts[fact.name].alternatives[number]
        text = bool(way.message) and printer.reader.messages[way.message].kind == "text"
        only_text = has_only_text(way, text) or way.split is not None or way.flags
        wanted = ("severity", "values") if graded else ("bits",) if way.bits else ("values",)
        if wanted[0] in keys:
            yield _Way(number, way, (*path, number, *wanted), only_text and not graded)


def _way_for(lesson: Lesson, ways: list[_Way], printer: Printer) -> _Way:
    reader = printer.reader.name
    if not ways and lesson.meaning in SEVERITIES:
        raise TeachingError(
            f"{lesson.meaning} is a severity, and no way to {lesson.fact} in reader {reader} has "
            f"severity: expected a reason such as material-empty"
        )
    if not ways:
        raise TeachingError(
            f"no way to {lesson.fact} in reader {reader} has values, so no word can be added: "
            f"write values there by hand, with every word that it says"
        )
    if lesson.way is not None:
        for each in ways:
            if each.number == lesson.way:
                return each
        known = listed([each.number + 1 for each in ways])
        raise TeachingError(
            f"way {lesson.way + 1} to {lesson.fact} in reader {reader} maps no words, expected "
            f"{known}"
        )
    if len(ways) > 1:
        named = listed([f"{each.number + 1} ({each})" for each in ways])
        raise SeveralWaysError(
            f"reader {reader} maps words to {lesson.fact} in {len(ways)} ways: "
            f"say which said it, with --way {named}"
        )
    return ways[0]


def _code(text: str, way: _Way) -> Code:
    if text in _NOT_WORDS:
        raise TeachingError(f"{text} is an object or a list, and no word")
    if text.endswith((_CUT, f'{_CUT}"')):
        raise TeachingError(f"{shown(text)} was cut, its end is not known: add it by hand")
    code = word_of(text.removeprefix("bit ") if way.path[-1] == "bits" else text)
    if way.path[-1] == "bits" and not (type(code) is int and 0 <= code <= _MOST_BIT):
        raise TeachingError(f"{shown(text)} is no bit, expected 0 (the lowest) to {_MOST_BIT}")
    return code


def _meaning(fact: FactName, text: str, document: Document) -> Meaning:
    if _is_severity(fact, text):
        return text
    said: str | list[str] = text
    if fact.kind is Kind.REASONS and _BETWEEN in text:
        said = [word.strip() for word in text.split(_BETWEEN)]
    problems: list[Problem] = []
    meaning = meaning_of(fact, said, Spot(document, problems, ("meaning",)))
    if meaning is None:
        raise TeachingError(*(problem.message for problem in problems))
    return tuple(said) if isinstance(said, list) else said


def _refuse_known(text: str, code: Code, way: _Way, document: Document) -> None:
    """A word that something is done with already would change nothing, or change that."""
    entries: dict[Any, Any] = _at(document, way.path)
    for known, meaning in entries.items():
        if _same(code, known, only_text=way.only_text):
            said = listed(meaning, "and") if isinstance(meaning, list) else meaning
            line = document.at((*way.path, known), key=True).line
            raise TeachingError(
                f"{written(known)} means {said} already ({document.file}:{line}): change it there"
            )
    for known in entries:
        if code == known:  # as Python and this file's reading have it: 1 and true, for example
            raise TeachingError(f"{text} cannot stand beside {written(known)} in one mapping")
    if way.path[-2] == "severity" or way.way.wildcard is not None:
        return
    for key, codes in (("unless", way.way.unless), ("no_value", way.way.no_value)):
        if any(_same(code, each, only_text=way.only_text) for each in codes):
            line = document.at((*way.path[:-1], key), key=True).line
            raise TeachingError(
                f"{text} stands under {key} ({document.file}:{line}), which is asked first: "
                f"take it out there"
            )


def _at(document: Document, path: tuple[object, ...]) -> Any:  # noqa: ANN401 - what YAML holds
    return document.within(document.data, path)


def _same(code: Code, known: Any, *, only_text: bool) -> bool:  # noqa: ANN401 - a key of YAML
    """Whether one mapping is enough for both; a text source has the text of a number."""
    return key_of(code) == key_of(known) or (only_text and _text(code) == _text(known))


def _text(code: Code) -> str:
    return code if isinstance(code, str) else json.dumps(code)


def _check(directory: Path, file: str, after: str) -> None:
    try:
        load_site(directory, {file: after})
    except SettingsError as error:
        # Their positions would be those of a text that nobody can look at.
        raise TeachingError(*(problem.message for problem in error.problems)) from None
