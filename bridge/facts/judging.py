"""What an alternative asks before it reads a value: ``also``, ``unless``, ``no_value``, ``is_``."""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable
from enum import Enum
from typing import Final, TypeAlias

from bridge.facts.codes import key_of, set_of, shown
from bridge.facts.places import ABSENT, Absent, Document, Place
from bridge.facts.quantities import parse_quantity
from bridge.facts.reader import Also, Alternative, Interval, Is
from bridge.facts.values import Unknown, Why


class Nothing(Enum):
    """The type of ``NOTHING``."""

    NOTHING = "nothing"


#: The value means nothing here, and that is known: the next alternative is asked, and a union of
#: reasons is not the less complete.
NOTHING: Final = Nothing.NOTHING

#: What ends the reading of a raw value, or ``None`` to go on.
Judge: TypeAlias = Callable[[object], "Nothing | Unknown | None"]

#: What the other places of a document say to an alternative, or ``None`` to go on.
JudgeDocument: TypeAlias = Callable[[Document], "Nothing | Absent | Unknown | None"]

_DIGITS: Final = {
    2: re.compile(r"(?:0b)?[01]{1,64}"),
    10: re.compile(r"[0-9]{1,19}"),
    16: re.compile(r"(?:0x)?[0-9a-f]{1,16}"),
}
_HEXADECIMAL: Final = re.compile(r"0x[0-9a-f]{1,16}")
_LARGEST_EXACT: Final = 2.0**53


def compile_judge(alternative: Alternative, *, only_text: bool) -> Judge | None:
    """The tests in their order, or ``None`` where there are none."""
    unless = set_of(alternative.unless, only_text=only_text)
    no_value = set_of(alternative.no_value, only_text=only_text)
    is_, base = alternative.is_, alternative.base
    test = None if is_ is None else _compile_is(is_, only_text=only_text, base=base)
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


def compile_also(several: tuple[Also, ...]) -> JudgeDocument | None:
    """The first of the further tests that does not hold, or ``None`` where there are none.

    A place that is absent makes the alternative absent, unless that is what it must be.
    """
    tests = [_compile_one_also(also) for also in several]
    if not tests:
        return None
    if len(tests) == 1:
        return tests[0]

    def judge(document: Document) -> Nothing | Absent | Unknown | None:
        for test in tests:
            if (verdict := test(document)) is not None:
                return verdict
        return None

    return judge


def _compile_one_also(also: Also) -> JudgeDocument:
    find = agreeing(also.at)
    if also.is_ is None:
        return lambda document: None if find(document) is ABSENT else NOTHING
    test = _compile_is(also.is_, only_text=False, base=10)

    def judge(document: Document) -> Nothing | Absent | Unknown | None:
        raw = find(document)
        return raw if raw is ABSENT or isinstance(raw, Unknown) else test(raw)

    return judge


def agreeing(place: Place) -> Callable[[Document], object]:
    """The value at a place; where there are several unlike ones, ``Unknown``."""
    if place.single:
        return place.find

    def find(document: Document) -> object:
        found = place.find_all(document)
        if not found:
            return ABSENT
        # Which of several unlike values is meant cannot be told: none of them.
        if any(key_of(value) != key_of(found[0]) for value in found):
            return Unknown(Why.WRONG_TYPE, f"{len(found)} unlike values at {place.text}")
        return found[0]

    return find


def _compile_is(is_: Is, *, only_text: bool, base: int) -> Judge:
    if is_.interval is not None:
        return _compile_interval(is_.interval)
    if is_.bit is not None:
        return _compile_bit(is_.bit, base)
    values = set_of(is_.values, only_text=only_text)
    if not only_text and is_.values and all(isinstance(value, bool) for value in is_.values):
        return _compile_truth(values)
    return lambda raw: None if key_of(raw) in values else NOTHING


def _compile_truth(values: frozenset[Hashable]) -> Judge:
    """A flag that is neither true nor false does not say no."""

    def judge(raw: object) -> Nothing | Unknown | None:
        if not isinstance(raw, bool):
            return Unknown(Why.WRONG_TYPE, f"{shown(raw)} is neither true nor false")
        return None if key_of(raw) in values else NOTHING

    return judge


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


def _compile_bit(bit: int, base: int) -> Judge:
    def judge(raw: object) -> Nothing | Unknown | None:
        number = bits_in(raw, base)
        if number is None:
            return Unknown(Why.WRONG_TYPE, f"'{shown(raw)}' has no bits")
        return None if number >> bit & 1 else NOTHING

    return judge


def bits_in(raw: object, base: int = 10) -> int | None:
    """A raw value as a number with bits: an integer from 0, or its text, decimal or ``0x…``.

    In another base only a text has digits: the number 10 is not the register ``"10"``.
    """
    if isinstance(raw, str):
        return _bits_in_text(raw.strip().lower(), base)
    if isinstance(raw, bool) or base != 10:
        return None
    if isinstance(raw, float):
        return int(raw) if raw.is_integer() and 0 <= raw < _LARGEST_EXACT else None
    return raw if isinstance(raw, int) and raw >= 0 else None


def _bits_in_text(text: str, base: int) -> int | None:
    if base == 10 and _HEXADECIMAL.fullmatch(text):
        base = 16
    return int(text, base) if _DIGITS[base].fullmatch(text) else None
