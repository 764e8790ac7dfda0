"""The limiter: never more than stated in any window, and no later than it must be."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from bridge.lights.limiter import Limiter

WINDOW_MS = 1000


def send_all(limiter: Limiter, wishes: list[int]) -> list[int]:
    """When requests wished for at these instants go, one after the other."""
    sent: list[int] = []
    now_ms = 0
    for wish in wishes:
        now_ms = limiter.next_slot(max(now_ms, wish))
        limiter.charge(now_ms)
        sent.append(now_ms)
    return sent


def most_in_a_window(sent: list[int]) -> int:
    """The most requests in any second, both its ends included, counted the slow way."""
    return max(
        (sum(start <= instant <= start + WINDOW_MS for instant in sent) for start in sent),
        default=0,
    )


@given(st.integers(1, 6), st.lists(st.integers(0, 6000), max_size=40).map(sorted))
def test_no_closed_second_holds_more_than_stated(count: int, wishes: list[int]) -> None:
    """Whatever the instants of the wishes: at most n in any second, its ends included."""
    assert most_in_a_window(send_all(Limiter(count, WINDOW_MS, 0), wishes)) <= count


@given(st.integers(1, 6), st.lists(st.integers(0, 6000), max_size=40).map(sorted))
def test_nobody_waits_longer_than_the_limit_asks(count: int, wishes: list[int]) -> None:
    """A request that waited would have been one too many a millisecond earlier."""
    limiter = Limiter(count, WINDOW_MS, 0)
    sent = [0] * count
    for wish in wishes:
        asked = max(sent[-1], wish)
        slot = limiter.next_slot(asked)
        limiter.charge(slot)
        if slot > asked:
            assert sum(slot - 1 - WINDOW_MS <= instant for instant in sent) >= count
        sent.append(slot)


def test_a_start_counts_as_used_up() -> None:
    """What an earlier run sent in its last second is not known, and the limit holds across."""
    assert send_all(Limiter(2, WINDOW_MS, 5000), [5000, 5000, 5000]) == [6001, 6001, 7002]


def test_asking_for_a_slot_takes_none() -> None:
    """Only a request that goes is charged."""
    limiter = Limiter(1, WINDOW_MS, 0)
    assert [limiter.next_slot(2000) for _ in range(3)] == [2000, 2000, 2000]


def test_without_a_limit_everything_goes_at_once() -> None:
    """A dialect may state none."""
    sent = send_all(Limiter(None, WINDOW_MS, 0), [3] * 50)
    assert all(first == second == 3 for first, second in pairwise(sent))
