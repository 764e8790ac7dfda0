"""Forms: the named parts of a text, as in ``{layer} of {layers}``.

A part is the shortest text up to the words that follow it in the form, and the last part all that
is left: one pass from left to right without going back, so that no text can make it slow.
"""

from __future__ import annotations

import re
from typing import Final

#: The part that is passed over; the only one that may stand twice.
PASSED_OVER: Final = "_"

_PIECE: Final = re.compile(r"\{\{|\}\}|\{([^{}]*)\}|[{}]|[^{}]+")
_NAME: Final = re.compile(r"_|[a-z][a-z0-9-]*")


class FormError(ValueError):
    """The text is no form; ``problem`` says why."""

    def __init__(self, text: str, problem: str) -> None:
        super().__init__(f"'{text}' {problem}")


class CompiledForm:
    """A form that is ready to match. ``names`` are its parts in their order."""

    __slots__ = ("_last_parts", "_last_text", "_literals", "_slots", "names", "text")

    def __init__(self, text: str, literals: tuple[str, ...], slots: tuple[str, ...]) -> None:
        self.text = text
        self.names = tuple(name for name in slots if name != PASSED_OVER)
        # literals[0], part 0, literals[1], part 1, ... literals[-1]
        self._literals = literals
        self._slots = slots
        self._last_text: str | None = None
        self._last_parts: dict[str, str] | None = None

    def match(self, text: str) -> dict[str, str] | None:
        """The parts of ``text`` by name, or ``None`` where it does not have this form."""
        # Several facts read one text, one after another.
        if text != self._last_text:
            self._last_text, self._last_parts = text, self._match(_spaced(text))
        return self._last_parts

    def _match(self, text: str) -> dict[str, str] | None:
        if not self._slots:
            return {} if text == self._literals[0] else None
        first, *between, last = self._literals
        if not text.startswith(first) or not text.endswith(last):
            return None
        position, end = len(first), len(text) - len(last)
        parts: dict[str, str] = {}
        for name, literal in zip(self._slots, [*between, None], strict=True):
            # A part has at least one character, so the next words start one further.
            until = end if literal is None else text.find(literal, position + 1, end)
            if until <= position:
                return None
            parts[name] = text[position:until]
            position = until + len(literal or "")
        parts.pop(PASSED_OVER, None)
        return parts


def compile_form(text: str) -> CompiledForm:
    """The form that ``text`` writes: ``{name}`` is a part, ``{{`` and ``}}`` are braces.

    Raises ``FormError``.
    """
    literals, slots = [""], list[str]()
    for piece in _PIECE.finditer(_spaced(text)):
        name = piece[1]
        if name is None:
            literals[-1] += _literal(text, piece[0])
            continue
        _check_part(text, name, slots)
        if slots and not literals[-1]:
            raise FormError(text, f"has nothing between {{{slots[-1]}}} and {{{name}}}")
        slots.append(name)
        literals.append("")
    return CompiledForm(text, tuple(literals), tuple(slots))


def _literal(text: str, piece: str) -> str:
    if piece in {"{", "}"}:
        raise FormError(text, f"has a {piece} without its other half: write {piece}{piece} for one")
    return {"{{": "{", "}}": "}"}.get(piece, piece)


def _check_part(text: str, name: str, before: list[str]) -> None:
    if not _NAME.fullmatch(name):
        raise FormError(text, f"has {{{name}}}: a part's name is lower-case letters, digits and -")
    if name != PASSED_OVER and name in before:
        raise FormError(text, f"has {{{name}}} twice")


def _spaced(text: str) -> str:
    """Any run of spaces as one, none at the ends."""
    return " ".join(text.split())
