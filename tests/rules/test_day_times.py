"""Times of the day by the clock and by the sun, and the spans between them."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from bridge.rules.day_times import Days, DayTime, Location, Span

DUBLIN = Days(ZoneInfo("Europe/Dublin"), Location(53.35, -6.26))
SVALBARD = Days(ZoneInfo("Arctic/Longyearbyen"), Location(78.22, 15.65))
TEN, SEVEN = DayTime("clock", 22 * 3600), DayTime("clock", 7 * 3600)
NIGHT = Span(TEN, SEVEN)


def at(text: str, zone: ZoneInfo = DUBLIN.zone) -> int:
    """An instant of local time."""
    return int(datetime.fromisoformat(text).replace(tzinfo=zone).timestamp() * 1000)


@pytest.mark.parametrize(
    ("instant", "holds"),
    [
        ("2026-11-25T21:59:59", False),
        ("2026-11-25T22:00:00", True),
        ("2026-11-26T00:30:00", True),
        ("2026-11-26T06:59:59", True),
        ("2026-11-26T07:00:00", False),
        # The clock is put back at 02:00 on this night, which is an hour longer.
        ("2026-10-25T06:59:59", True),
    ],
)
def test_a_span_goes_over_midnight(instant: str, *, holds: bool) -> None:
    """From its beginning, included, to its end, not included."""
    assert DUBLIN.holds(NIGHT, at(instant)) is holds


def test_the_next_time_is_found() -> None:
    """Today's or tomorrow's, whichever comes first."""
    assert DUBLIN.next_ms([TEN, SEVEN], at("2026-11-25T12:00")) == at("2026-11-25T22:00")
    assert DUBLIN.next_ms([TEN, SEVEN], at("2026-11-25T22:00")) == at("2026-11-26T07:00")
    assert DUBLIN.next_ms([], at("2026-11-25T22:00")) is None


def test_an_offset_is_counted_from_the_sun() -> None:
    """Before it, where negative."""
    day = date(2026, 6, 21)
    sunset = DUBLIN.instant_ms(DayTime("sunset", 0), day)
    assert DUBLIN.instant_ms(DayTime("sunset", 1800), day) == sunset + 1_800_000
    assert DUBLIN.instant_ms(DayTime("sunset", -60), day) == sunset - 60_000


def test_where_the_sun_does_not_set_the_whole_day_is_light() -> None:
    """And where it does not rise there is none."""
    zone = SVALBARD.zone
    light = Span(DayTime("sunrise", 0), DayTime("sunset", 0))
    for hour in range(24):
        assert SVALBARD.holds(light, at(f"2026-06-21T{hour:02}:30", zone))
        assert not SVALBARD.holds(light, at(f"2026-12-21T{hour:02}:30", zone))


def test_without_a_place_there_is_no_sun() -> None:
    """The settings refuse that before."""
    with pytest.raises(LookupError, match="needs the site's location"):
        Days(ZoneInfo("UTC")).instant_ms(DayTime("sunset", 0, "sunset"), date(2026, 1, 1))


def test_comings_are_in_order() -> None:
    """From yesterday to tomorrow."""
    comings = list(DUBLIN.last_and_next([SEVEN, TEN], at("2026-11-25T12:00")))
    instants = [instant for instant, _ in comings]
    assert instants == sorted(instants)
    assert len(comings) == 6
    assert datetime.fromtimestamp(instants[0] / 1000, UTC).date() == date(2026, 11, 24)
