"""Sunrise and sunset against published worked values.

Source: the worked example of the *Almanac for Computers*, 1990 (Nautical Almanac Office, United
States Naval Observatory), as widely reprinted: Wayne, New Jersey (40.9 north, 74.3 west), 25 June
1990, sunrise at 9:26 UT (5:26 local daylight time). From memory, so it is held to two minutes.

A second witness, the library ephem (positions by the theory VSOP87, Bretagnon and Francou 1988),
works every sunrise and sunset out over again, at USNO's convention of a horizon 34 minutes of arc
down; it may differ by a minute. A third from first principles: at the equator day and night are as
long as each other but for the sun's radius and refraction, 50 minutes of arc (USNO's convention),
which make the day 6.7 minutes longer.
"""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import ephem
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


def test_ephem_works_out_the_same() -> None:
    """Anywhere between the polar circles, on any day of eighteen years."""
    chance = random.Random(1609)
    for _ in range(200):
        latitude, longitude = chance.uniform(-64, 64), chance.uniform(-180, 180)
        day = date(2020, 1, 1) + timedelta(days=chance.randrange(6500))
        # What the clocks there would say: IANA has the sign of these the other way round.
        zone = ZoneInfo(f"Etc/GMT{-round(longitude / 15):+d}")
        days = Days(zone, Location(latitude, longitude))
        for when in (SUNRISE, SUNSET):
            ours = datetime.fromtimestamp(days.instant_ms(when, day) / 1000, UTC)
            theirs = _by_ephem(when, day, zone, latitude, longitude)
            assert abs(ours - theirs) <= timedelta(minutes=1), (when, day, latitude, longitude)


def _by_ephem(
    when: DayTime, day: date, zone: ZoneInfo, latitude: float, longitude: float
) -> datetime:
    observer = ephem.Observer()
    observer.lat, observer.lon = str(latitude), str(longitude)
    observer.pressure, observer.horizon = 0, "-0:34"
    observer.date = datetime.combine(day, time(), zone).astimezone(UTC).replace(tzinfo=None)
    come = observer.next_rising if when == SUNRISE else observer.next_setting
    at: datetime = come(ephem.Sun()).datetime()
    return at.replace(tzinfo=UTC)
