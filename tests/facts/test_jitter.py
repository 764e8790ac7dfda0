"""Backoff: full jitter under a doubling ceiling, and the same for the same seed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.jitter import backoff_ms


@pytest.mark.parametrize(
    ("attempt", "ceiling"),
    [(1, 500), (2, 1000), (3, 2000), (6, 16_000), (7, 30_000), (8, 30_000), (400, 30_000)],
)
def test_the_ceiling_doubles_up_to_the_cap(attempt: int, ceiling: int) -> None:
    """Of many that failed together some wait almost nothing, some almost the ceiling, none more."""
    waits = [
        backoff_ms("seed", f"controller {n}", attempt, base_ms=500, cap_ms=30_000)
        for n in range(400)
    ]
    assert 0 <= min(waits) < ceiling * 0.05
    assert ceiling * 0.95 < max(waits) <= ceiling
    # The mean of 400 even draws lies within 10 % of the middle but for one time in 10^11.
    assert sum(waits) / len(waits) == pytest.approx(ceiling / 2, rel=0.1)


@given(st.text(), st.text(), st.integers(1, 10_000))
def test_chance_is_a_hash(seed: str, name: str, attempt: int) -> None:
    """The same names wait as long in every run, or a replay would differ."""
    wait = backoff_ms(seed, name, attempt, base_ms=500, cap_ms=30_000)
    assert wait == backoff_ms(seed, name, attempt, base_ms=500, cap_ms=30_000)
    assert 0 <= wait <= 30_000


def test_neighbours_do_not_wait_in_step() -> None:
    """Another seed, name or attempt draws anew."""
    draws = {
        backoff_ms(seed, name, attempt, base_ms=1 << 40, cap_ms=1 << 41)
        for seed in "ab"
        for name in "cd"
        for attempt in (2, 3)
    }
    assert len(draws) == 8
