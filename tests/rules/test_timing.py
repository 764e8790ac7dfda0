"""Durations and times of day: their values, and the very instant at which a condition turns."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.moment import Moment
from bridge.facts.reader import Interval
from bridge.facts.values import Unknown, Why
from bridge.rules.conditions import NumberIn, SymbolIs, TimeOfDay
from bridge.rules.timing import Times, local_seconds, next_wall_ms

LONG = NumberIn("time-in-state", Interval(600.0), "at least 10 min")
LONGER = NumberIn("time-in-state", Interval(600.0, least_included=False), "above 10 min")
NIGHT = TimeOfDay(22 * 3600.0, 6 * 3600.0, "from 22:00 before 06:00")
DUBLIN = ZoneInfo("Europe/Dublin")


def wall(text: str) -> int:
    """An instant in UTC, in ms."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() * 1000)


def test_how_long_is_worked_out_from_since_when() -> None:
    """And turns at the first millisecond at which the condition holds."""
    times = Times((LONG, SymbolIs("state", frozenset({"idle"}))), DUBLIN)
    assert times.facts == {"time-in-state"}
    memory = {"time-in-state": 1000}
    assert times.values(memory, Moment(61_000)) == {"time-in-state": 60.0}
    due = times.next_ms(memory, Moment(61_000))
    assert due == 601_000
    assert LONG.interval.holds((due - 1000) / 1000)
    assert not LONG.interval.holds((due - 1001) / 1000)
    assert times.next_ms(memory, Moment(due)) is None


def test_an_open_end_turns_one_millisecond_later() -> None:
    """Above ten minutes is not ten minutes."""
    assert Times((LONGER,), DUBLIN).next_ms({"time-in-state": 0}, Moment(0)) == 600_001


def test_what_is_not_known_has_no_deadline() -> None:
    """It says why, and waits to be known."""
    times = Times((LONG, NIGHT), DUBLIN)
    unknown = Unknown(Why.NO_CLOCK)
    values = times.values({"time-in-state": unknown}, Moment(5))
    assert values == {"time-in-state": unknown, "local-time": unknown}
    assert times.next_ms({"time-in-state": unknown}, Moment(5)) is None


@given(st.integers(1, 10**7), st.integers(0, 10**9))
def test_every_stated_end_has_its_millisecond(end_ms: int, since: int) -> None:
    """Whatever the rounding of seconds, the deadline is where the condition turns."""
    interval = Interval(end_ms / 1000)
    times = Times((NumberIn("time-unchanged", interval, ""),), DUBLIN)
    due = times.next_ms({"time-unchanged": since}, Moment(since))
    assert due is not None
    assert interval.holds((due - since) / 1000)
    assert not interval.holds((due - 1 - since) / 1000)


@pytest.mark.parametrize(
    ("now", "cuts", "then"),
    [
        ("2026-11-25T21:00:00", [22 * 3600.0, 6 * 3600.0], "2026-11-25T22:00:00"),
        ("2026-11-25T22:00:00", [22 * 3600.0, 6 * 3600.0], "2026-11-26T00:00:00"),
        ("2026-11-26T00:00:00", [22 * 3600.0, 6 * 3600.0], "2026-11-26T06:00:00"),
        # In summer the club's clocks are an hour ahead of UTC.
        ("2026-07-01T12:00:00", [22 * 3600.0], "2026-07-01T21:00:00"),
        # tz database, Europe/Dublin: on 2026-03-29 at 01:00 UTC the clocks go from 01:00 to 02:00.
        ("2026-03-29T00:10:00", [1.5 * 3600], "2026-03-29T01:00:00"),
        # And on 2026-10-25 at 01:00 UTC from 02:00 back to 01:00.
        ("2026-10-25T00:40:00", [1.5 * 3600], "2026-10-25T01:00:00"),
        ("2026-10-25T01:00:00", [1.5 * 3600], "2026-10-25T01:30:00"),
    ],
)
def test_the_next_turn_of_a_clock_on_the_wall(now: str, cuts: list[float], then: str) -> None:
    """Across midnight and both changes of the clocks."""
    assert next_wall_ms(DUBLIN, wall(now), cuts) == wall(then)


def test_a_clock_that_was_put_back_shows_an_hour_twice() -> None:
    """So a condition on it is true twice."""
    assert local_seconds(DUBLIN, wall("2026-10-25T00:30:00")) == 1.5 * 3600
    assert local_seconds(DUBLIN, wall("2026-10-25T01:30:00")) == 1.5 * 3600


@given(st.integers(wall("2026-01-01T00:00:00"), wall("2027-01-01T00:00:00")))
def test_between_two_turns_nothing_turns(now: int) -> None:
    """Any instant before the next turn is judged as now is."""
    then = next_wall_ms(DUBLIN, now, [22 * 3600.0, 6 * 3600.0])
    assert then > now
    judged = {
        NIGHT.test({"local-time": local_seconds(DUBLIN, now + (then - 1 - now) * part // 7)})
        for part in range(8)
    }
    assert len(judged) == 1
