"""Raw values to numbers in the fact's own unit."""

from __future__ import annotations

import math
from typing import TypeVar
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.moment import Moment
from bridge.facts.numbers import compile_number, compile_to_number, limits_of
from bridge.facts.places import ABSENT, compile_place
from bridge.facts.reader import Alternative, EndsAt, Unit
from bridge.facts.values import Unknown, Why
from bridge.facts.vocabulary import FACTS, FactName, Kind

UTC = ZoneInfo("UTC")
NOW = Moment(5_000, 1_768_478_400_000)
PROGRESS = FACTS["progress"]
TIME = FACTS["time-to-completion"]
HOT = FACTS["extruder-temperature"]
LAYER = FACTS["layer"]
SITE = FactName("site-humidity", Kind.TEXT)

TENTHS = Unit("0.1 °C", 0.1)
FAHRENHEIT = Unit("°F", 5 / 9, -32 * 5 / 9)
MINUTES = Unit("min", 60.0)
PERCENT = Unit("%", 0.01)
CLOCK_LIKE = Unit("h:m:s", form="h:m:s")
ISO = Unit("iso 8601", form="iso 8601")

T = TypeVar("T")


def _why(value: T | Unknown) -> T | Why:
    return value.why if isinstance(value, Unknown) else value


@pytest.mark.parametrize(
    ("fact", "alternative", "raw", "value"),
    [
        (HOT, Alternative(), 211.5, 211.5),
        (HOT, Alternative(), 211, 211.0),
        (HOT, Alternative(), "211,5", 211.5),
        (HOT, Alternative(), "211.5 °C", 211.5),
        (HOT, Alternative(), "414,5 °F", 212.5),
        (HOT, Alternative(), "273.15 K", 0.0),
        (HOT, Alternative(), "211.5 °R", Why.WRONG_TYPE),
        (HOT, Alternative(unit=Unit("°C")), "414.5 °F", Why.WRONG_TYPE),
        (HOT, Alternative(), "hot", Why.WRONG_TYPE),
        (HOT, Alternative(), True, Why.WRONG_TYPE),
        (HOT, Alternative(), None, Why.WRONG_TYPE),
        (HOT, Alternative(), [211], Why.WRONG_TYPE),
        (HOT, Alternative(), 2000.5, Why.OUT_OF_RANGE),
        (HOT, Alternative(), -300, Why.OUT_OF_RANGE),
        (HOT, Alternative(), 10**400, Why.OUT_OF_RANGE),
        (HOT, Alternative(unit=TENTHS), 2115, 211.5),
        (HOT, Alternative(unit=TENTHS), "2115", 211.5),
        (HOT, Alternative(unit=TENTHS), "2115 °C", Why.WRONG_TYPE),
        (HOT, Alternative(unit=Unit("0.01 °C", 0.01)), 21157, 211.57),
        (HOT, Alternative(unit=FAHRENHEIT), 212, 100.0),
        (HOT, Alternative(unit=FAHRENHEIT), "212 °F", 100.0),
        (HOT, Alternative(unit=FAHRENHEIT), "212 °C", Why.WRONG_TYPE),
        (HOT, Alternative(unit=Unit("K", 1.0, -273.15)), 273.15, 0.0),
        (HOT, Alternative(least=150.0, most=300.0), 149, Why.OUT_OF_RANGE),
        (HOT, Alternative(least=150.0, most=300.0), 150, 150.0),
        (HOT, Alternative(most=5000.0), 2500, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(), 0.375, 0.375),
        (PROGRESS, Alternative(), "37,5 %", 0.375),
        (PROGRESS, Alternative(), 37.5, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(), 1, 1.0),
        (PROGRESS, Alternative(), 1.0000001, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(), -1, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(unit=PERCENT), 57, 0.57),
        (PROGRESS, Alternative(unit=PERCENT), "57 %", 0.57),
        (PROGRESS, Alternative(unit=PERCENT), 101, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(scale=(0.0, 10_000.0)), 3750, 0.375),
        (PROGRESS, Alternative(scale=(100.0, 0.0)), 25, 0.75),
        (PROGRESS, Alternative(scale=(10.0, 20.0)), 9, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(scale=(5.0, 5.0)), 5, Why.OUT_OF_RANGE),
        (LAYER, Alternative(), "12", 12.0),
        (LAYER, Alternative(), "12 %", Why.WRONG_TYPE),
        (TIME, Alternative(), 90, 90.0),
        (TIME, Alternative(), "90 s", 90.0),
        (TIME, Alternative(), "1 h 30 min", 5400.0),
        (TIME, Alternative(), "65,5 min", 3930.0),
        (TIME, Alternative(), "65 °C", Why.WRONG_TYPE),
        (TIME, Alternative(), "1:30:00", Why.WRONG_TYPE),
        (TIME, Alternative(unit=MINUTES), 1.5, 90.0),
        (TIME, Alternative(unit=MINUTES), "1,5 min", 90.0),
        (TIME, Alternative(unit=MINUTES), "90 s", Why.WRONG_TYPE),
        (TIME, Alternative(unit=Unit("ms", 0.001)), 1500, 1.5),
        (TIME, Alternative(unit=CLOCK_LIKE), "1:30:00", 5400.0),
        (TIME, Alternative(unit=CLOCK_LIKE), 5400, Why.WRONG_TYPE),
        (TIME, Alternative(unit=CLOCK_LIKE), "soon", Why.WRONG_TYPE),
        (TIME, Alternative(unit=ISO), "PT1H30M", 5400.0),
        (TIME, Alternative(), -5, Why.OUT_OF_RANGE),
        (TIME, Alternative(ends_at=EndsAt.EPOCH_S), 1_768_478_490, 90.0),
        (TIME, Alternative(ends_at=EndsAt.CLOCK), "12:01:30", 90.0),
        (TIME, Alternative(ends_at=EndsAt.CLOCK), "11:59", Why.OUT_OF_RANGE),
        (TIME, Alternative(ends_at=EndsAt.ISO), "2026-01-15T12:01:30Z", 90.0),
        (TIME, Alternative(ends_at=EndsAt.ISO), 90, Why.WRONG_TYPE),
        (TIME, Alternative(minus=compile_place("/gone")), 100, 60.0),
        (TIME, Alternative(minus=compile_place("/gone"), unit=MINUTES), 100, 3600.0),
        (TIME, Alternative(minus=compile_place("/nowhere")), 100, ABSENT),
        (TIME, Alternative(minus=compile_place("/word")), 100, Why.WRONG_TYPE),
        (TIME, Alternative(minus=compile_place("/gone")), 30, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(of=compile_place("/all")), 40, 0.5),
        (PROGRESS, Alternative(of=compile_place("/zero")), 40, Why.OUT_OF_RANGE),
        (PROGRESS, Alternative(of=compile_place("/nowhere")), 40, ABSENT),
        (PROGRESS, Alternative(minus=compile_place("/gone"), of=compile_place("/all")), 80, 0.5),
        (PROGRESS, Alternative(of=compile_place("/all"), scale=(1.0, 0.0)), 20, 0.75),
        (SITE, Alternative(unit=PERCENT), 1e307, 1e305),
        (SITE, Alternative(unit=Unit("x", 1e10)), 1e305, Why.OUT_OF_RANGE),
    ],
)
def test_compile_number(
    fact: FactName, alternative: Alternative, raw: object, value: object
) -> None:
    """Units, scales, places to take away and to divide by, and a range that is never clamped."""
    document = {"gone": 40, "all": 80, "zero": 0, "word": "x"}
    found = compile_number(alternative, fact, UTC)(raw, document, NOW)
    if isinstance(value, float):
        assert isinstance(found, float)
        assert found == pytest.approx(value, rel=1e-14, abs=1e-12)
    else:
        assert _why(found) is value


@pytest.mark.parametrize(
    ("unit", "raw", "value"),
    [
        (TENTHS, 2115, 211.5),
        (PERCENT, 57, 0.57),
        (PERCENT, 100, 1.0),
        (Unit("ms", 0.001), 7, 0.007),
    ],
)
def test_decimal_units_are_exact(unit: Unit, raw: int, value: float) -> None:
    """A tenth is a division by ten, so that 57 % is 0.57 and not a little more."""
    assert compile_to_number(unit, SITE)(raw) == value


def test_an_instant_needs_the_wall_clock() -> None:
    """Until the clock is known, so is the time to completion: not at all."""
    finish = compile_number(Alternative(ends_at=EndsAt.EPOCH_S), TIME, UTC)
    assert finish(1_768_478_490, {}, Moment(5_000)) == Unknown(Why.NO_CLOCK)


@pytest.mark.parametrize(
    ("alternative", "fact", "limits"),
    [
        (Alternative(), PROGRESS, (0.0, 1.0)),
        (Alternative(least=-5.0, most=0.5), PROGRESS, (0.0, 0.5)),
        (Alternative(), TIME, (0.0, math.inf)),
        (Alternative(), SITE, (-math.inf, math.inf)),
    ],
)
def test_limits_of(alternative: Alternative, fact: FactName, limits: tuple[float, float]) -> None:
    """The narrower limit of the two counts."""
    assert limits_of(alternative, fact) == limits


RAWS = st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.lists(st.none())


@given(RAWS, st.sampled_from([None, TENTHS, FAHRENHEIT, MINUTES, CLOCK_LIKE, ISO]))
def test_a_number_is_finite_and_within_the_range(raw: object, unit: Unit | None) -> None:
    """Whatever is said, a fact is a number within its range, or unknown."""
    for fact in (PROGRESS, TIME, HOT, SITE):
        value = compile_number(Alternative(unit=unit), fact, UTC)(raw, {}, NOW)
        assert isinstance(value, float | Unknown)
        if isinstance(value, float):
            least, most = limits_of(Alternative(), fact)
            assert math.isfinite(value)
            assert least <= value <= most
