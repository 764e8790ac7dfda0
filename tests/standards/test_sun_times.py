"""Sunrise and sunset against published worked values.

Source: the worked example of the *Almanac for Computers*, 1990 (Nautical Almanac Office, United
States Naval Observatory), as widely reprinted: Wayne, New Jersey (40.9 north, 74.3 west), 25 June
1990, sunrise at 9:26 UT (5:26 local daylight time). From memory, so
it is held to two minutes. A second witness from first principles: at
the equator day and night are as long as each other but for the sun's radius and refraction, 50
minutes of arc (USNO's convention), which make the day 6.7 minutes longer.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from bridge.rules.day_times import Days, DayTime, Location

SUNRISE, SUNSET = DayTime("sunrise", 0), DayTime("sunset", 0)


def test_the_almanacs_worked_example() -> None:
    """Wayne, New Jersey, 25 June 1990."""
    days = Days(ZoneInfo("America/New_York"), Location(40.9, -74.3))
    rises = datetime.fromtimestamp(days.instant_ms(SUNRISE, date(1990, 6, 25)) / 1000, UTC)
    assert abs(rises - datetime(1990, 6, 25, 9, 26, tzinfo=UTC)) <= timedelta(minutes=2)


@pytest.mark.parametrize("day", [date(2026, 3, 20), date(2026, 6, 21), date(2026, 9, 23)])
def test_a_day_at_the_equator(day: date) -> None:
    """Twelve hours, and what refraction and the sun's radius add: 2 x 50' / 15 degrees an hour."""
    days = Days(ZoneInfo("UTC"), Location(0.0, 0.0))
    length_s = (days.instant_ms(SUNSET, day) - days.instant_ms(SUNRISE, day)) / 1000
    added_s = length_s - 12 * 3600
    assert pytest.approx(400) == 2 * (50 / 60) / 15 * 3600
    assert added_s == pytest.approx(400, abs=45)
