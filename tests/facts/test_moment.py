"""The two clocks of an event."""

from __future__ import annotations

from bridge.facts.moment import Moment


def test_at_moves_both_clocks_alike() -> None:
    """A deadline that is settled late is settled at its own wall time too."""
    assert Moment(5_000, 90_000).at(3_000) == Moment(3_000, 88_000)


def test_at_without_a_wall_clock() -> None:
    """What is not known does not become known by the passing of time."""
    assert Moment(5_000).at(9_000) == Moment(9_000, None)
