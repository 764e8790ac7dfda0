"""Instants that may lie before this start."""

from __future__ import annotations

import pytest

from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp, placed, wall_of


def test_of_this_start() -> None:
    """Both clocks as they are, and an age that needs the monotonic one only."""
    stamp = Stamp.of(Moment(1_000, 50_000))
    assert stamp == Stamp(1_000, 50_000)
    assert stamp.age_ms(Moment(4_000)) == 3_000
    assert stamp.wall_at(Moment(4_000, 99_999)) == 50_000


@pytest.mark.parametrize(
    ("wall_ms", "now", "ms"),
    [
        (40_000, Moment(1_000, 50_000), -9_000),
        (49_500, Moment(1_000, 50_000), 500),
        (60_000, Moment(1_000, 50_000), 1_000),
        (40_000, Moment(1_000), None),
    ],
)
def test_restored(wall_ms: int, now: Moment, ms: int | None) -> None:
    """Placed as far back as the wall clock says; what would be in the future happened now."""
    stamp = Stamp.restored(wall_ms, now)
    assert stamp == Stamp(ms, wall_ms)


def test_restored_from_nothing() -> None:
    """Where the wall clock was not known there is nothing to restore."""
    assert Stamp.restored(None, Moment(1_000, 50_000)) is None


def test_placed_once() -> None:
    """A wall clock that is stepped later changes no age."""
    early = Stamp(None, 40_000)
    assert early.age_ms(Moment(1_000)) is None
    late = early.placed(Moment(1_000, 50_000))
    assert late.placed(Moment(2_000, 9_000_000)) == late
    assert late.age_ms(Moment(2_000, 9_000_000)) == 11_000


def test_wall_worked_out_afterwards() -> None:
    """What happened before the wall clock was known gets its time when it is."""
    stamp = Stamp.of(Moment(1_000))
    assert stamp.wall_at(Moment(2_000)) is None
    assert stamp.wall_at(Moment(3_000, 50_000)) == 48_000


def test_that_there_may_not_be() -> None:
    """None stays none."""
    now = Moment(1_000, 50_000)
    assert placed(None, now) is None
    assert wall_of(None, now) is None
    assert placed(Stamp(None, 50_000), now) == Stamp(1_000, 50_000)
    assert wall_of(Stamp(1_000), now) == 50_000
