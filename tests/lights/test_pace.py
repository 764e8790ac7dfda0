"""How fast painted frames may follow each other."""

from __future__ import annotations

from bridge.lights.dialect.grammar import Limits
from bridge.lights.pace import LEAST_CHANGE_MS, Pace


def test_two_changes_are_half_a_period_of_the_fastest_flash_apart() -> None:
    """The end of IEC 60073's normal rate, 2.8 Hz; six changes a second are three flashes."""
    assert LEAST_CHANGE_MS >= 1000 / 2.8 / 2
    assert 1000 // LEAST_CHANGE_MS + 1 <= 6


def test_limits_alone_allow_this() -> None:
    """Two requests in a period, at least 250 ms each, in three quarters of it."""
    assert Pace(250).least_period_ms(2) == 667
    assert Pace(0).least_period_ms(2) == 1
    assert Pace.by_limits(Limits(requests=3, window_ms=1000)).each_ms == 334
    assert Pace.by_limits(Limits()).each_ms == 0


def test_slow_replies_make_it_slower_and_one_exception_does_not() -> None:
    """Until they have been quick for half a minute."""
    pace = Pace(100)
    for at in range(0, 800, 100):
        pace.replied(20, at)
    pace.replied(900, 900)
    assert pace.each_ms == 100
    pace.replied(900, 1900)
    assert pace.each_ms == 900
    for at in range(2000, 30_000, 1000):
        pace.replied(20, at)
    assert pace.each_ms == 900
    pace.replied(20, 40_000)
    assert pace.each_ms == 100
