"""The two clocks of an event."""

from __future__ import annotations

from bridge.facts.moment import Moment


def test_at_moves_both_clocks_alike() -> None:
    """A deadline that is settled late is settled at its own wall time too."""
    assert Moment(5_000, 90_000).at(3_000) == Moment(3_000, 88_000)


def test_at_without_a_wall_clock() -> None:
    """What is not known does not become known by the passing of time."""
    assert Moment(5_000).at(9_000) == Moment(9_000, None)


def test_a_time_of_the_wall_has_a_reading_of_the_other_clock() -> None:
    """Before a start it is less than nothing."""
    assert Moment(5_000, 90_000).ms_at(88_000) == 3_000
    assert Moment(5_000, 90_000).ms_at(80_000) == -5_000
    assert Moment(5_000, 90_000).ms_at(None) is None
    assert Moment(5_000).ms_at(88_000) is None
