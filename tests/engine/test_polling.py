"""When a polled printer is asked next."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.engine.polling import BACKOFF_CAP_MS, LEAST_MS, MOST_WAIT_MS, PollSchedule


def schedule(working_ms: int = 5000, resting_ms: int = 20_000) -> PollSchedule:
    """A schedule that was never asked."""
    return PollSchedule("page", working_ms, resting_ms, "seed")


@pytest.mark.parametrize(
    ("working_ms", "resting_ms", "working", "next_ms"),
    [
        (5000, 20_000, True, 105_000),
        (5000, 20_000, False, 120_000),
        # Never under a second, whatever is stated.
        (200, 20_000, True, 101_000),
        (200, 300, False, 101_000),
    ],
)
def test_intervals_are_counted_from_the_last_poll(
    working_ms: int, resting_ms: int, working: bool, next_ms: int
) -> None:
    """From asking to asking, so that a slow answer does not stretch the interval."""
    polls = schedule(working_ms, resting_ms)
    polls.asked(100_000)
    polls.heard()
    assert polls.due_ms(100_900, working=working) == next_ms


def test_the_first_poll_is_due_at_once() -> None:
    """A start waits for nothing."""
    assert schedule().due_ms(777, working=False) == 777


def test_one_poll_at_a_time() -> None:
    """While one is under way no other is due."""
    polls = schedule()
    polls.asked(0)
    assert polls.due_ms(60_000, working=True) is None


def test_a_start_of_work_brings_the_next_poll_forward() -> None:
    """The interval is chosen when it is asked for, not when the last poll went."""
    polls = schedule()
    polls.asked(0)
    polls.heard()
    assert polls.due_ms(8000, working=False) == 20_000
    assert polls.due_ms(8000, working=True) == 5000


@given(st.integers(1, 40), st.integers(0, 10**9))
def test_failures_wait_longer_within_the_cap(failures: int, now_ms: int) -> None:
    """At least a second, at most the cap, and a success ends it."""
    polls = schedule()
    for _ in range(failures):
        polls.asked(now_ms)
        polls.failed(now_ms, None)
    due_ms = polls.due_ms(now_ms, working=True)
    assert due_ms is not None
    ceiling = min(BACKOFF_CAP_MS, 2000 * 2 ** (failures - 1))
    assert now_ms + LEAST_MS <= due_ms <= now_ms + ceiling
    polls.asked(due_ms)
    polls.heard()
    assert polls.due_ms(due_ms, working=True) == due_ms + 5000


@pytest.mark.parametrize(
    ("retry_after_ms", "least_ms"),
    [(0, LEAST_MS), (120_000, 120_000), (10**12, MOST_WAIT_MS)],
)
def test_what_the_printer_asks_for_is_kept_up_to_a_bound(
    retry_after_ms: int, least_ms: int
) -> None:
    """Retry-After is obeyed (RFC 9110 §10.2.3), but a mistaken date silences nobody for good."""
    polls = schedule()
    polls.asked(0)
    polls.failed(0, retry_after_ms)
    due_ms = polls.due_ms(0, working=True)
    assert due_ms is not None
    assert least_ms <= due_ms <= max(least_ms, 2000)
