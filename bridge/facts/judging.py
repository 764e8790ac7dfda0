"""What an alternative asks of a raw value before it reads it: ``unless``, ``no_value``, ``is_``."""

from __future__ import annotations

import re
from collections.abc import Callable
from enum import Enum
from typing import Final, TypeAlias

from bridge.facts.codes import key_of, set_of, shown
from bridge.facts.quantities import parse_quantity
from bridge.facts.reader import Alternative, Interval, Is
from bridge.facts.values import Unknown, Why


class Nothing(Enum):
    """The type of ``NOTHING``."""

    NOTHING = "nothing"


#: The value means nothing here, and that is known: the next alternative is asked, and a union of
#: reasons is not the less complete.
NOTHING: Final = Nothing.NOTHING

#: What ends the reading of a raw value, or ``None`` to go on.
Judge: TypeAlias = Callable[[object], "Nothing | Unknown | None"]

_INTEGER: Final = re.compile(r"[0-9]{1,19}|0x[0-9a-f]{1,16}")
_LARGEST_EXACT: Final = 2.0**53


def compile_judge(alternative: Alternative, *, only_text: bool) -> Judge | None:
    """The tests in their order, or ``None`` where there are none."""
    unless = set_of(alternative.unless, only_text=only_text)
    no_value = set_of(alternative.no_value, only_text=only_text)
    test = None if alternative.is_ is None else _compile_is(alternative.is_, only_text=only_text)
    if not unless and not no_value:
        return test

    def judge(raw: object) -> Nothing | Unknown | None:
        key = key_of(raw)
        if key in unless:
            return NOTHING
        if key in no_value:
            return Unknown(Why.NO_VALUE, shown(raw))
        return None if test is None else test(raw)

    return judge


def _compile_is(is_: Is, *, only_text: bool) -> Judge:
    if is_.interval is not None:
        return _compile_interval(is_.interval)
    if is_.bit is not None:
        return _compile_bit(is_.bit)
    values = set_of(is_.values, only_text=only_text)
    return lambda raw: None if key_of(raw) in values else NOTHING


def _compile_interval(interval: Interval) -> Judge:
    def judge(raw: object) -> Nothing | Unknown | None:
        number = _plain_number(raw)
        if number is None:
            return Unknown(Why.WRONG_TYPE, f"'{shown(raw)}' is no number")
        return None if interval.holds(number) else NOTHING

    return judge


def _plain_number(raw: object) -> float | None:
    if isinstance(raw, bool):
        return None
    if isinstance(raw, int | float):
        return raw
    quantity = parse_quantity(raw) if isinstance(raw, str) else None
    return quantity[0] if quantity is not None and not quantity[1] else None


def _compile_bit(bit: int) -> Judge:
    def judge(raw: object) -> Nothing | Unknown | None:
        number = bits_in(raw)
        if number is None:
            return Unknown(Why.WRONG_TYPE, f"'{shown(raw)}' has no bits")
        return None if number >> bit & 1 else NOTHING

    return judge


def bits_in(raw: object) -> int | None:
    """A raw value as a number with bits: an integer from 0, or its text, decimal or ``0x…``."""
    if isinstance(raw, bool):
        return None
    if isinstance(raw, str):
        text = raw.strip().lower()
        if not _INTEGER.fullmatch(text):
            return None
        return int(text, 16 if text.startswith("0x") else 10)
    if isinstance(raw, float):
        return int(raw) if raw.is_integer() and 0 <= raw < _LARGEST_EXACT else None
    return raw if isinstance(raw, int) and raw >= 0 else None
