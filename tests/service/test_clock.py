"""The service's clocks: what is believed, and which jump is told."""

from __future__ import annotations

import time

import pytest

from bridge.facts.moment import Moment
from bridge.service.clock import STEP_MS, Clock

#: 2026-06-01 in UTC, by hand: 20 605 days since the epoch.
JUNE_MS = 20_605 * 86_400_000
UNKNOWN = None


def told(*walls: int | None) -> list[bool]:
    """What the clock says of these readings of the wall clock, a second apart."""
    clock = Clock()
    return [
        clock.stepped(Moment(1000 * index, None if wall is None else JUNE_MS + wall))
        for index, wall in enumerate(walls)
    ]


@pytest.mark.parametrize(
    ("walls", "steps"),
    [
        ((UNKNOWN, UNKNOWN), [False, False]),
        ((UNKNOWN, 1000, 2000), [False, True, False]),
        ((0, UNKNOWN, UNKNOWN, 3000), [True, True, False, True]),
        ((0, 1000, 2000), [True, False, False]),
        ((0, 1000 + STEP_MS), [True, True]),
        ((0, 1000 - STEP_MS), [True, True]),
        ((0, 1000 + STEP_MS - 1), [True, False]),
        ((0, 3_601_000, 3_602_000), [True, True, False]),
        ((0, 3_601_000, 2000), [True, True, True]),
    ],
    ids=[
        "never known",
        "becomes known once",
        "lost and found again",
        "goes on evenly",
        "forward by the least step",
        "back by the least step",
        "just less than a step",
        "an hour forward, then evenly",
        "an hour forward, and back",
    ],
)
def test_what_becomes_known_and_what_jumps_is_told_once(
    walls: tuple[int | None, ...], steps: list[bool]
) -> None:
    """Local-time conditions must be judged again then, and only then."""
    assert told(*walls) == steps


def test_many_small_steps_are_told_in_the_end() -> None:
    """Each is less than a step, together they are half an hour an evening."""
    slow = [index * 1000 + index * STEP_MS // 4 for index in range(9)]
    assert told(*slow) == [True] + [False, False, False, True] * 2


def test_the_monotonic_clock_goes_on_while_the_board_sleeps() -> None:
    """It is CLOCK_BOOTTIME in whole milliseconds, and never goes back."""
    before = time.clock_gettime(time.CLOCK_BOOTTIME) * 1000
    readings = [Clock().now().ms for _ in range(100)]
    after = time.clock_gettime(time.CLOCK_BOOTTIME) * 1000
    assert readings == sorted(readings)
    assert before - 1 <= readings[0]
    assert readings[-1] <= after


@pytest.mark.parametrize(
    ("date", "believed"),
    [("1970-01-01", False), ("2025-12-31", False), ("2026-01-01", True), ("2031-07-01", True)],
)
def test_a_board_that_has_no_clock_is_not_believed(
    monkeypatch: pytest.MonkeyPatch, date: str, believed: bool
) -> None:
    """Without a battery it starts years ago: local time is unknown until a time service answers."""
    ns = time.mktime((*map(int, date.split("-")), 12, 0, 0, 0, 0, -1))  # type: ignore[arg-type]
    monkeypatch.setattr(time, "time_ns", lambda: int(ns) * 10**9)
    assert (Clock().now().wall_ms == int(ns) * 1000) is believed
    assert (Clock().now().wall_ms is None) is not believed
