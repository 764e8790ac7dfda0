"""Words and codes of messages, compared without guessing: ``true`` is not 1, ``"20"`` is not 20.

Where a source has only text (a text message, a part of a form, a wildcard), a code that is a
number, a truth or ``null`` also stands for the text that JSON writes it as.
"""

from __future__ import annotations

import json
import re
from collections.abc import Hashable, Iterable, Mapping
from enum import Enum
from typing import Final, TypeVar

from bridge.facts.reader import Scalar

T = TypeVar("T")

_SHOWN_CHARACTERS: Final = 80
#: A text that YAML takes for a text, and that cannot be mistaken for anything else said here.
_BARE: Final = re.compile(r"[^\s\d\"'+.~\[{…-][^\x00-\x1f\x7f-\x9f]*")
_NO_TEXTS: Final = frozenset({"true", "false", "null"})
#: Python refuses to write integers of thousands of digits, and nobody reads them.
_LONG_INTEGER: Final = 10**30


class _Key(Enum):
    """What Python would take for 1 and 0, or could not look up at all."""

    TRUE = "true"
    FALSE = "false"
    COLLECTION = "an object or a list"


def key_of(raw: object) -> Hashable:
    """What a raw value is looked up by in a ``table_of``."""
    kind = type(raw)
    if kind is str or kind is int or kind is float:
        return raw
    if kind is bool:
        return _Key.TRUE if raw else _Key.FALSE
    return None if raw is None else _Key.COLLECTION


def table_of(values: Mapping[Scalar, T], *, only_text: bool) -> dict[Hashable, T]:
    """A table by ``key_of``."""
    table = {key_of(code): value for code, value in values.items()}
    if only_text:
        for code, value in values.items():
            if not isinstance(code, str):
                table.setdefault(json.dumps(code), value)
    return table


def set_of(codes: Iterable[Scalar], *, only_text: bool) -> frozenset[Hashable]:
    """A set by ``key_of``."""
    return frozenset(table_of(dict.fromkeys(codes), only_text=only_text))


def shown(raw: object) -> str:
    """A raw value for people: as JSON writes it, text bare, bounded in length."""
    if isinstance(raw, dict):
        return "an object"
    if isinstance(raw, list):
        return "a list"
    if isinstance(raw, int) and abs(raw) >= _LONG_INTEGER:
        return "a very long integer"
    if not isinstance(raw, str):
        raw = json.dumps(raw)
    return raw if len(raw) <= _SHOWN_CHARACTERS else raw[: _SHOWN_CHARACTERS - 1] + "…"


def written(raw: object) -> str:
    """A raw value as a reader's file has it: ``20`` the number, ``"20"`` the text.

    What no file can map is ``{…}`` or ``[…]``, and a text that was cut ends in ``…``.
    """
    if isinstance(raw, dict):
        return "{…}"
    if isinstance(raw, list):
        return "[…]"
    said = shown(raw)
    if not isinstance(raw, str):
        return said
    is_bare = _BARE.fullmatch(raw) and raw == raw.strip() and raw.lower() not in _NO_TEXTS
    return said if is_bare else json.dumps(said, ensure_ascii=False)
