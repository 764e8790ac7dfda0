"""Numbers, durations and instants in text; nothing is guessed."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.quantities import (
    parse_duration_words,
    parse_h_m_s,
    parse_instant,
    parse_iso_duration,
    parse_quantity,
    parse_stamp,
)
from bridge.facts.reader import EndsAt

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("211.5", (211.5, "")),
        ("37,5 %", (37.5, "%")),
        ("37,5%", (37.5, "%")),
        (" 12 min ", (12.0, "min")),
        ("-3 °C", (-3.0, "°C")),
        ("−3", (-3.0, "")),
        ("+0.5", (0.5, "")),
        ("007", (7.0, "")),
        ("1,234", (1.234, "")),
        ("5e3", (5.0, "e3")),
        ("1 234", None),
        ("1.234,5", None),
        ("1.2.3", None),
        (".5", None),
        ("5.", None),
        ("", None),
        ("%", None),
        ("nan", None),
        ("inf", None),
        ("½", None),
        ("٣", None),
        ("0x10", (0.0, "x10")),
        ("9" * 65, None),
        ("1" + " " * 100_000 + "2", None),
    ],
)
def test_parse_quantity(text: str, quantity: tuple[float, str] | None) -> None:
    """A sign, digits, one point or comma, and what stands behind."""
    assert parse_quantity(text) == quantity


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("1:02:03", 3723.0),
        ("0:00:01,5", 1.5),
        ("27:00:00", 97_200.0),
        ("02:03", 123.0),
        ("90:00", 5400.0),
        ("1:75:00", None),
        ("0:75", None),
        ("1:2:3", None),
        ("12", None),
        ("1:02:03:04", None),
        ("-1:00", None),
        ("", None),
    ],
)
def test_parse_h_m_s(text: str, seconds: float | None) -> None:
    """The leading part may be any size, the others are under sixty and of two digits."""
    assert parse_h_m_s(text) == seconds


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("1h 12min", 4320.0),
        ("1 h 05 m 3 s", 3903.0),
        ("90 min", 5400.0),
        ("2 d", 172_800.0),
        ("250ms", 0.25),
        ("1,5 h", 5400.0),
        ("1h 2h", None),
        ("1s 1h", None),
        ("12", None),
        ("1 hour", None),
        ("", None),
        (" ", None),
        ("1 h" + " " * 100, None),
    ],
)
def test_parse_duration_words(text: str, seconds: float | None) -> None:
    """Each unit at most once, the largest first, every number with its unit."""
    assert parse_duration_words(text) == seconds


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("PT1H30M", 5400.0),
        ("PT36H", 129_600.0),
        ("P1DT2H", 93_600.0),
        ("P2W", 1_209_600.0),
        ("PT1.5H", 5400.0),
        ("PT0,5S", 0.5),
        ("PT0S", 0.0),
        ("PT1.5H3M", None),
        ("P1Y", None),
        ("P1M", None),
        ("P", None),
        ("PT", None),
        ("P1DT", None),
        ("PT,5S", None),
        ("-PT1S", None),
        ("1H", None),
    ],
)
def test_parse_iso_duration(text: str, seconds: float | None) -> None:
    """Weeks to seconds; years and months have no fixed length."""
    assert parse_iso_duration(text) == seconds


def _ms(*parts: int) -> int:
    return round(datetime(*parts, tzinfo=UTC).timestamp() * 1000)  # type: ignore[misc,arg-type]


NOON = _ms(2026, 1, 15, 12)


@pytest.mark.parametrize(
    ("value", "form", "instant"),
    [
        (1_768_478_400, EndsAt.EPOCH_S, NOON),
        (1_768_478_400.5, EndsAt.EPOCH_S, NOON + 500),
        ("1768478400", EndsAt.EPOCH_S, NOON),
        (1_768_478_400_000, EndsAt.EPOCH_MS, NOON),
        (True, EndsAt.EPOCH_S, None),
        ("1768478400 s", EndsAt.EPOCH_S, None),
        (10**400, EndsAt.EPOCH_S, None),
        (1e308, EndsAt.EPOCH_S, None),
        (None, EndsAt.EPOCH_MS, None),
        ([1], EndsAt.EPOCH_MS, None),
        ("2026-01-15T12:00:00Z", EndsAt.ISO, NOON),
        ("2026-01-15T13:00:00+01:00", EndsAt.ISO, NOON),
        ("2026-01-15 12:00", EndsAt.ISO, NOON),
        ("2026-07-15 12:00", EndsAt.ISO, _ms(2026, 7, 15, 11)),
        ("2026-02-30T12:00:00Z", EndsAt.ISO, None),
        ("noon", EndsAt.ISO, None),
        (1_768_478_400, EndsAt.ISO, None),
        ("13:30", EndsAt.CLOCK, NOON + 5_400_000),
        ("13:30:15", EndsAt.CLOCK, NOON + 5_415_000),
        ("02:00", EndsAt.CLOCK, NOON + 14 * 3_600_000),
        ("11:30", EndsAt.CLOCK, NOON - 1_800_000),
        ("10:59", EndsAt.CLOCK, NOON + 23 * 3_600_000 - 60_000),
        ("24:00", EndsAt.CLOCK, None),
        ("1330", EndsAt.CLOCK, None),
        (1330, EndsAt.CLOCK, None),
    ],
)
def test_parse_instant(value: object, form: EndsAt, instant: int | None) -> None:
    """What is about to come; a clock time may have passed by up to an hour."""
    assert parse_instant(value, form, NOON, LONDON) == instant


@pytest.mark.parametrize(
    ("value", "instant"),
    [("11:59", NOON - 60_000), ("12:30", NOON + 1_800_000), ("13:30", NOON - 81_000_000)],
)
def test_a_stamp_lies_behind(value: str, instant: int) -> None:
    """A sender's clock time is the last one, or ahead by less than an hour."""
    assert parse_stamp(value, EndsAt.CLOCK, NOON, LONDON) == instant


@pytest.mark.parametrize(
    ("now", "clock", "instant"),
    [
        # 2026-03-29 01:00 UTC: the clock goes from 01:00 to 02:00 (GMT to BST).
        (_ms(2026, 3, 28, 23), "07:00", _ms(2026, 3, 29, 6)),
        # 2026-10-25 01:00 UTC: the clock goes back from 02:00 to 01:00.
        (_ms(2026, 10, 24, 22), "07:00", _ms(2026, 10, 25, 7)),
    ],
)
def test_a_clock_time_over_a_change_of_the_clock(now: int, clock: str, instant: int) -> None:
    """Seven in the morning is seven by the wall, however long the night is."""
    assert parse_instant(clock, EndsAt.CLOCK, now, LONDON) == instant


@given(st.integers(0, 4_000_000_000_000), st.times())
def test_a_clock_time_is_always_within_a_day(now: int, clock: object) -> None:
    """From an hour before to a day after, also where a day has 23 or 25 hours."""
    instant = parse_instant(str(clock)[:8], EndsAt.CLOCK, now, LONDON)
    assert instant is not None
    assert now - 3_600_000 <= instant <= now + 25 * 3_600_000


@given(st.text(max_size=80), st.sampled_from(EndsAt))
def test_no_text_raises(text: str, form: EndsAt) -> None:
    """A number, a duration, an instant or nothing."""
    parse_quantity(text)
    parse_h_m_s(text)
    parse_duration_words(text)
    parse_iso_duration(text)
    parse_instant(text, form, NOON, LONDON)
    parse_stamp(text, form, NOON, LONDON)
