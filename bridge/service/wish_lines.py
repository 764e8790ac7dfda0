"""Wishes as one line of JSON has them, at the daemon's local socket.

``{"wish": "acknowledge", "occurrence": "…"}``: the word of the wish, and its fields by their names;
durations are whole milliseconds. A field that may be left out has a default in ``engine.wishes``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, fields
from typing import Any, Final

from bridge.engine.wishes import (
    Acknowledge,
    Collected,
    Hold,
    OutOfService,
    Press,
    Release,
    Reset,
    ReturnToService,
    Shelve,
    Unshelve,
    Wish,
)
from bridge.errors import LampwrightError
from bridge.recording.plain import NotOfTypeError, fields_of, value_of

WISHES: Final[Mapping[str, type[Wish]]] = {
    "acknowledge": Acknowledge,
    "reset": Reset,
    "collected": Collected,
    "shelve": Shelve,
    "unshelve": Unshelve,
    "out-of-service": OutOfService,
    "return-to-service": ReturnToService,
    "hold": Hold,
    "release": Release,
    "press": Press,
}
_WORDS: Final = {kind: word for word, kind in WISHES.items()}
#: What a press does is its field ``wish``, whose name the word of the wish has already.
_DOES: Final = "does"
_DOABLE: Final = ("acknowledge", "reset", "collected")
#: Longer is no name and no reason, and would only fill the journal.
MOST_CHARACTERS: Final = 500
MOST_NAMES: Final = 1000
#: Longer is not for a time: that is what "out of service" is for.
MOST_MS: Final = 366 * 24 * 60 * 60 * 1000
_TYPES: Final = {
    "str": "text",
    "int": f"milliseconds, 1 to {MOST_MS}",
    "int | None": f"milliseconds, 1 to {MOST_MS}, or null",
    "tuple[str, ...]": "list of texts",
}


class NoWishError(LampwrightError):
    """What was said is no wish."""


def wish_plain(wish: Wish) -> dict[str, object]:
    """The wish as JSON has it."""
    named = {_written(name): value for name, value in fields_of(wish).items()}
    return {"wish": _WORDS[type(wish)], **named}


def wish_of(said: Mapping[str, object]) -> Wish:
    """The wish that ``said`` is; raises ``NoWishError`` that tells what was expected."""
    word = said.get("wish")
    kind = WISHES.get(word) if isinstance(word, str) else None
    if kind is None:
        raise NoWishError(f"wish: {_cut(word)} is none, expected one of {', '.join(WISHES)}")
    given = {name: value for name, value in said.items() if name != "wish"}
    problems = [*_misnamed(kind, given), *_too_much(given)]
    if problems:
        raise NoWishError(f"{'; '.join(problems)}; expected {_expected(kind)}")
    named = {_field(kind, name): value for name, value in given.items()}
    left_out = {each.name: _default(each) for each in fields(kind) if each.name not in named}
    try:
        return value_of(kind, {**named, **left_out})
    except NotOfTypeError as error:
        raise NoWishError(f"{error}; expected {_expected(kind)}") from None


def _misnamed(kind: type[Wish], given: Mapping[str, object]) -> Iterator[str]:
    known = {_written(each.name): each for each in fields(kind)}
    for name in given:
        if name not in known:
            yield f"{_cut(name)} is not known"
    for name, each in known.items():
        if name not in given and each.default is MISSING:
            yield f"{name} is missing"


def _too_much(given: Mapping[str, object]) -> Iterator[str]:
    for name, value in given.items():
        texts = value if isinstance(value, list) else [value]
        if len(texts) > MOST_NAMES:
            yield f"{name}: {len(texts)} are too many"
        if name == "segments" and not texts:
            yield f"{name}: there is none"
        for text in texts:
            if isinstance(text, str) and not 1 <= len(text) <= MOST_CHARACTERS:
                yield f"{name}: {len(text)} characters, expected 1 to {MOST_CHARACTERS}"
        if type(value) is int and not 1 <= value <= MOST_MS:
            yield f"{name}: {_cut(value)} is no time"
        if name == _DOES and value not in _DOABLE:
            yield f"{name}: {_cut(value)} is none, expected one of {', '.join(_DOABLE)}"


def _expected(kind: type[Wish]) -> str:
    """The whole line, with what each field takes."""
    parts = [f'"wish": "{_WORDS[kind]}"']
    parts += [f'"{_written(each.name)}": {_TYPES[str(each.type)]}' for each in fields(kind)]
    return f"{{{', '.join(parts)}}}"


def _written(name: str) -> str:
    return _DOES if name == "wish" else name


def _field(kind: type[Wish], name: str) -> str:
    return "wish" if kind is Press and name == _DOES else name


def _default(of: Field[Any]) -> object:
    """As JSON has it."""
    return list(of.default) if isinstance(of.default, tuple) else of.default


def _cut(value: object) -> str:
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 40 else f"{text[:40]}…"
