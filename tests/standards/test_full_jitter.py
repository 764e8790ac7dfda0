"""The waits of backoff against the published distribution of full jitter.

Source: M. Brooker, *Exponential Backoff And Jitter*, AWS Architecture Blog, 2015: "full jitter" is
sleep = random_between(0, min(cap, base * 2 ** attempt)), attempts from 0. The even distribution is
judged by ``kolmogorov``; a wait is a whole number of milliseconds, so each is put in the middle of
its own. Every sample is fixed by its names, so that a verdict is the same in every run: at the
significance of 1/1000, one honest formula in a thousand would be refused for good at each.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from bridge.facts.jitter import backoff_ms
from bridge.lights.controller_state import BACKOFF_BASE_MS, BACKOFF_CAP_MS
from bridge.lights.desired import Desired
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.reconcile import Reconciler
from tests.lights.board import MUTE_PEGS, PLACES, RED
from tests.standards.kolmogorov import chance, p_value

SIGNIFICANCE = 0.001
MANY = 4000
BASE_MS, CAP_MS = 500, 30_000
#: attempt from 0, as published -> min(cap, base * 2 ** attempt), worked by hand
CEILINGS = {0: 500, 1: 1000, 2: 2000, 3: 4000, 4: 8000, 5: 16_000, 6: 30_000, 9: 30_000}

# Critical values of √n D in the limit, as the tables have them (from memory: 1.22, 1.36, 1.63,
# 1.95), with Smirnov's exact value at n = 10 and 5 %: D = 0.409.
TABLES = [
    (1.22385, 10**6, 0.10),
    (1.35810, 10**6, 0.05),
    (1.62762, 10**6, 0.01),
    (1.94947, 10**6, 0.001),
    (0.40925 * math.sqrt(10), 10, 0.05),
]


@pytest.mark.parametrize(("scaled", "n", "wanted"), TABLES)
def test_the_judge_knows_the_tables(scaled: float, n: int, wanted: float) -> None:
    """The chance at each printed critical value, to a twentieth of it."""
    assert chance(scaled / math.sqrt(n), n) == pytest.approx(wanted, rel=0.05)


# Other jitters of the same article, and mistakes in full jitter: each must be refused.
UNEVEN: list[tuple[str, Callable[[random.Random], float]]] = [
    ("none", lambda _: 0.9999),
    ("equal jitter", lambda chance_: 0.5 + chance_.random() / 2),
    ("decorrelated", lambda chance_: min(1.0, chance_.uniform(1 / 3, 1.2))),
    ("sum of two", lambda chance_: (chance_.random() + chance_.random()) / 2),
    ("a tenth too low", lambda chance_: chance_.random() * 0.9),
    ("squared", lambda chance_: chance_.random() ** 1.1),
]


@pytest.mark.parametrize(("name", "draw"), UNEVEN)
def test_the_judge_refuses_what_is_not_full_jitter(
    name: str, draw: Callable[[random.Random], float]
) -> None:
    """So that to pass below says something."""
    drawn = random.Random(name)
    assert p_value(draw(drawn) for _ in range(MANY)) < SIGNIFICANCE


def shares(attempt: int, names: list[tuple[str, str]]) -> list[float]:
    """The waits as shares of what the published ceiling allows."""
    ceiling = CEILINGS[attempt]
    return [
        (backoff_ms(seed, name, attempt + 1, base_ms=BASE_MS, cap_ms=CAP_MS) + 0.5) / (ceiling + 1)
        for seed, name in names
    ]


WALLS = [("one night", f"controller {number}") for number in range(MANY)]
NIGHTS = [(f"night {number}", "door") for number in range(MANY)]


@pytest.mark.parametrize("names", [WALLS, NIGHTS], ids=["many controllers", "many seeds"])
@pytest.mark.parametrize("attempt", CEILINGS)
def test_waits_are_even_up_to_the_ceiling(attempt: int, names: list[tuple[str, str]]) -> None:
    """Uniform on [0, min(cap, base * 2^attempt)], over controllers as over starts."""
    found = shares(attempt, names)
    assert min(found) > 0
    assert max(found) < 1
    assert p_value(found) >= SIGNIFICANCE


PAIRS = [(a, b) for a, b in itertools.pairwise(CEILINGS)]


@pytest.mark.parametrize(("earlier", "later"), PAIRS)
def test_one_wait_does_not_tell_the_next(earlier: int, later: int) -> None:
    """Of independent even draws the sum, less its whole part, is even too; so is the difference."""
    pairs = list(zip(shares(earlier, WALLS), shares(later, WALLS), strict=True))
    assert p_value((one + other) % 1 for one, other in pairs) >= SIGNIFICANCE
    assert p_value((one - other) % 1 for one, other in pairs) >= SIGNIFICANCE


@pytest.mark.parametrize("attempt", [0, 3])
def test_neighbours_do_not_follow_each_other(attempt: int) -> None:
    """Controllers whose names are one number apart wait apart."""
    pairs = list(itertools.pairwise(shares(attempt, WALLS)))
    assert p_value((one - other) % 1 for one, other in pairs) >= SIGNIFICANCE


def waits_of(name: str, attempts: int) -> list[int]:
    """What a silent controller's reconciler really waits, after each failure in a row."""
    grammar = replace(MUTE_PEGS, limits=replace(MUTE_PEGS.limits, requests=None))
    reconciler = Reconciler(name, Dialect(grammar), PLACES, None, 12)
    reconciler.start("tonight", 0)
    reconciler.desire("s1", Desired(RED), 0)
    now_ms, waits = 0, []
    for number in range(attempts):
        assert reconciler.choose(now_ms, number) is not None
        now_ms += 2000
        reconciler.unanswered(maybe_applied=False, why="silent", now_ms=now_ms, number=number)
        ready_ms = reconciler.ready_ms(now_ms)
        assert ready_ms is not None
        waits.append(ready_ms - now_ms)
        now_ms = ready_ms
    return waits


def test_controllers_wait_so() -> None:
    """Not only the formula: reconcilers of a whole wall without power, failure by failure."""
    rows = [waits_of(f"wall {number}", 8) for number in range(1000)]
    for attempt, waits in enumerate(zip(*rows, strict=True)):
        ceiling = min(BACKOFF_CAP_MS, BACKOFF_BASE_MS * 2**attempt)
        assert max(waits) <= ceiling
        assert p_value((wait + 0.5) / (ceiling + 1) for wait in waits) >= SIGNIFICANCE
