"""Words without a mapping as JSON has them, at the daemon's local socket: ``{"ask": "words"}``."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.engine.view import View
from bridge.facts.words import WordRecord
from bridge.recording.plain import NotOfTypeError, fields_of, value_of


@dataclass(frozen=True, slots=True)
class MetWord:
    """A word that a printer said and its reader does not map."""

    printer: str
    word: WordRecord


def words_met(view: View) -> tuple[MetWord, ...]:
    """Every word that a core has met and cannot read."""
    return tuple(MetWord(name, word) for name, one in view.printers.items() for word in one.words)


def words_plain(view: View) -> list[dict[str, object]]:
    """The same as JSON has it."""
    return [fields_of(each) for each in words_met(view)]


def words_of(plain: object) -> tuple[MetWord, ...]:
    """What ``words_plain`` gave; raises ``NotOfTypeError`` for anything else."""
    if not isinstance(plain, list):
        raise NotOfTypeError("words", f"expected a list, not {type(plain).__name__}")
    return tuple(value_of(MetWord, each) for each in plain)
