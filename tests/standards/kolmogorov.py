"""The test of Kolmogorov and Smirnov for one sample against an even distribution.

Sources: A. Kolmogorov, *Sulla determinazione empirica di una legge di distribuzione*, 1933, for the
limit Q(x) = 2 Σ (-1)^(k-1) exp(-2 k² x²); M. A. Stephens, *EDF statistics for goodness of fit and
some comparisons*, JASA 69 (1974), for x = D (√n + 0.12 + 0.11 / √n) at a finite n (both from
memory; the critical values of their tables are in the test).
"""

from __future__ import annotations

import math
from collections.abc import Iterable


def distance_from_even(values: Iterable[float]) -> tuple[float, int]:
    """D, the farthest that the sample's steps are from the diagonal of 0..1; and how many."""
    ordered = sorted(values)
    n = len(ordered)
    above = max((index + 1) / n - value for index, value in enumerate(ordered))
    below = max(value - index / n for index, value in enumerate(ordered))
    return max(above, below), n


def chance(distance: float, n: int) -> float:
    """How often an even sample of n is as far off or farther."""
    x = distance * (math.sqrt(n) + 0.12 + 0.11 / math.sqrt(n))
    if x < 0.3:  # the sum alternates without end there, and the chance is 1 to nine digits
        return 1.0
    terms = ((1 if k % 2 else -1) * math.exp(-2 * (k * x) ** 2) for k in range(1, 101))
    return min(1.0, max(0.0, 2 * sum(terms)))


def p_value(values: Iterable[float]) -> float:
    """The chance of so uneven a sample, were it drawn evenly from 0..1."""
    return chance(*distance_from_even(values))
