"""Backoff with full jitter.

Source: Marc Brooker, *Exponential Backoff and Jitter*, AWS Architecture Blog, 2015: the wait before
attempt n is uniform on [0, min(cap, base * 2**n)]. Uniformity by the Kolmogorov-Smirnov test; its
critical value 1.63/sqrt(n) at a significance of 0.01 is the large-sample table's (from memory).
"""

from __future__ import annotations

import math

import pytest

from bridge.facts.jitter import backoff_ms

BASE_MS, CAP_MS, SAMPLES = 500, 30_000, 4000


def waits(attempt: int) -> list[float]:
    """That wait of many controllers under many seeds, as a share of its ceiling."""
    return sorted(
        backoff_ms(f"seed {n % 50}", f"controller {n}", attempt, base_ms=BASE_MS, cap_ms=CAP_MS)
        for n in range(SAMPLES)
    )


@pytest.mark.parametrize("attempt", [1, 2, 3, 5, 7, 12])
def test_waits_are_uniform_up_to_their_ceiling(attempt: int) -> None:
    """From nothing to the doubled base, and never above the cap."""
    found = waits(attempt)
    ceiling = min(CAP_MS, BASE_MS * 2 ** (attempt - 1))
    assert found[0] >= 0
    assert found[-1] <= ceiling
    # Waits are whole milliseconds, each standing for one of that length.
    furthest = max(
        max(
            (rank + 1) / SAMPLES - wait / (ceiling + 1), (wait + 1) / (ceiling + 1) - rank / SAMPLES
        )
        for rank, wait in enumerate(found)
    )
    assert furthest <= 1.63 / math.sqrt(SAMPLES) + 1 / ceiling


def test_two_controllers_do_not_wait_alike() -> None:
    """So that an outage of all of them does not end in a crowd."""
    alike = sum(one == other for one, other in zip(waits(7), waits(7)[1:], strict=False))
    assert alike < SAMPLES / 2
    first = [backoff_ms("s", f"c{n}", 5, base_ms=BASE_MS, cap_ms=CAP_MS) for n in range(20)]
    assert len(set(first)) > 15
