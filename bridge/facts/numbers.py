"""From a raw value to a number in the fact's own unit, compiled once for each alternative."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, TypeAlias
from zoneinfo import ZoneInfo

from bridge.facts.codes import shown
from bridge.facts.moment import Moment
from bridge.facts.places import ABSENT, Absent, Document
from bridge.facts.quantities import (
    parse_duration_words,
    parse_h_m_s,
    parse_instant,
    parse_iso_duration,
    parse_quantity,
)
from bridge.facts.reader import Alternative, EndsAt, Unit
from bridge.facts.values import Unknown, Why
from bridge.facts.vocabulary import FactName

#: A raw value, its document and the instant it was heard, to a number.
Finish: TypeAlias = Callable[[object, Document, Moment], float | Unknown | Absent]
_ToNumber: TypeAlias = Callable[[object], float | Unknown]
_Linear: TypeAlias = Callable[[float], float]

#: Units that a text may write behind its number where the reader names none, by the fact's own.
_WRITTEN: Final = {
    "°C": {unit.text: unit for unit in (Unit("°F", 5 / 9, -32 * 5 / 9), Unit("K", 1.0, -273.15))},
    "share": {"%": Unit("%", 0.01)},
}


def compile_number(alternative: Alternative, fact: FactName, zone: ZoneInfo) -> Finish:
    """The steps from ``minus`` to ``most`` of an alternative that gives a number."""
    least, most = limits_of(alternative, fact)
    ranged = _compile_range(least, most)
    if alternative.ends_at is not None:
        return _compile_ends_at(alternative.ends_at, zone, ranged)
    to_number = compile_to_number(alternative.unit, fact)
    finish = _compile_arithmetic(alternative, to_number)
    scaled = _compile_scale(alternative.scale)
    if finish is None and scaled is None:
        return _compile_plain(to_number, least, most)

    def compute(raw: object, document: Document, _now: Moment) -> float | Unknown | Absent:
        value = to_number(raw) if finish is None else finish(raw, document)
        if isinstance(value, float):
            return ranged(value if scaled is None else scaled(value))
        return value

    return compute


def compile_to_number(unit: Unit | None, fact: FactName) -> _ToNumber:
    """A raw value, a number or a text, to the fact's own unit; the rest is of the wrong type."""
    if unit is not None and unit.form != "number":
        return _compile_form(unit)
    linear = _compile_linear(unit)

    def to_number(raw: object) -> float | Unknown:
        kind = type(raw)
        if kind is float:
            return linear(raw) if linear else raw  # type: ignore[arg-type,return-value]
        if kind is int:
            try:
                value = float(raw)  # type: ignore[arg-type]
            except OverflowError:
                return Unknown(Why.OUT_OF_RANGE, shown(raw))
            return linear(value) if linear else value
        if kind is str:
            return _text_to_number(raw, unit, linear, fact)  # type: ignore[arg-type]
        return Unknown(Why.WRONG_TYPE, f"{shown(raw)} is no number")

    return to_number


def _text_to_number(
    text: str, unit: Unit | None, linear: _Linear | None, fact: FactName
) -> float | Unknown:
    quantity = parse_quantity(text)
    if quantity is None:
        return Unknown(Why.WRONG_TYPE, f"'{shown(text)}' is no number")
    value, written = quantity
    if written in {"", fact.unit if unit is None else unit.text}:
        return linear(value) if linear else value
    converted = _in_written_unit(text, value, written, fact) if unit is None else None
    if converted is not None:
        return converted
    wanted = unit.text if unit is not None else fact.unit or "no unit"
    return Unknown(Why.WRONG_TYPE, f"'{shown(text)}' has another unit than {wanted}")


def _in_written_unit(text: str, value: float, written: str, fact: FactName) -> float | None:
    """A number whose own unit says what it is, in the fact's; some displays can be switched."""
    if fact.unit == "s":
        return parse_duration_words(text)
    dimension = "share" if not fact.unit and fact.most == 1.0 else fact.unit
    unit = _WRITTEN.get(dimension, {}).get(written)
    linear = _compile_linear(unit)
    return None if linear is None else linear(value)


def _compile_form(unit: Unit) -> _ToNumber:
    parse = parse_h_m_s if unit.form == "h:m:s" else parse_iso_duration

    def to_number(raw: object) -> float | Unknown:
        seconds = parse(raw) if isinstance(raw, str) else None
        if seconds is None:
            return Unknown(Why.WRONG_TYPE, f"'{shown(raw)}' is no duration in {unit.form}")
        return seconds

    return to_number


def _compile_linear(unit: Unit | None) -> _Linear | None:
    if unit is None or (unit.factor == 1.0 and unit.offset == 0.0):
        return None
    factor, offset = unit.factor, unit.offset
    # 2115 tenths are 211.5, but 2115 * 0.1 is not: divide where the factor is one over an integer.
    divisor = round(1 / factor) if 0 < abs(factor) < 1 else 0
    if divisor and math.isclose(1 / factor, divisor, rel_tol=1e-12):
        return lambda value: value / divisor + offset
    return lambda value: value * factor + offset


def _compile_scale(scale: tuple[float, float] | None) -> _Linear | None:
    if scale is None:
        return None
    zero, one = scale
    # Both ends alike mean nothing: infinite, so that the range refuses it.
    if zero == one:
        return lambda _value: math.inf
    return lambda value: (value - zero) / (one - zero)


def _compile_arithmetic(
    alternative: Alternative, to_number: _ToNumber
) -> Callable[[object, Document], float | Unknown | Absent] | None:
    minus, of = alternative.minus, alternative.of
    if minus is None and of is None:
        return None

    def compute(raw: object, document: Document) -> float | Unknown | Absent:
        value = to_number(raw)
        for place in (minus, of):
            if place is None or not isinstance(value, float):
                continue
            there = place.find(document)
            other = ABSENT if there is ABSENT else to_number(there)
            if not isinstance(other, float):
                return other
            if place is minus:
                value -= other
            elif other == 0.0:
                return Unknown(Why.OUT_OF_RANGE, f"{place.text} is 0")
            else:
                value /= other
        return value

    return compute


def limits_of(alternative: Alternative, fact: FactName) -> tuple[float, float]:
    """The narrower of what the alternative and the fact allow; infinite where neither says."""
    leasts = (least for least in (alternative.least, fact.least) if least is not None)
    mosts = (most for most in (alternative.most, fact.most) if most is not None)
    return max(leasts, default=-math.inf), min(mosts, default=math.inf)


def _compile_plain(to_number: _ToNumber, least: float, most: float) -> Finish:
    """The commonest number, in one function: a message has several of them."""

    def finish(raw: object, _document: Document, _now: Moment) -> float | Unknown:
        value = to_number(raw)
        if type(value) is float and (least <= value <= most) and -math.inf < value < math.inf:
            return value
        return _out_of_range(value)

    return finish


def _out_of_range(value: float | Unknown) -> Unknown:
    return value if isinstance(value, Unknown) else Unknown(Why.OUT_OF_RANGE, shown(value))


def _compile_range(least: float, most: float) -> Callable[[float | Unknown], float | Unknown]:
    def ranged(value: float | Unknown) -> float | Unknown:
        # An infinity is no reading, not even where there is no limit.
        if isinstance(value, float) and least <= value <= most and not math.isinf(value):
            return value
        return _out_of_range(value)

    return ranged


def _compile_ends_at(
    form: EndsAt, zone: ZoneInfo, ranged: Callable[[float | Unknown], float | Unknown]
) -> Finish:
    def finish(raw: object, _document: Document, now: Moment) -> float | Unknown:
        if now.wall_ms is None:
            return Unknown(Why.NO_CLOCK)
        ends_ms = parse_instant(raw, form, now.wall_ms, zone)
        if ends_ms is None:
            return Unknown(Why.WRONG_TYPE, f"'{shown(raw)}' is no instant in {form.value}")
        return ranged((ends_ms - now.wall_ms) / 1000)

    return finish
