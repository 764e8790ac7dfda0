"""Light that grows warmer: evenly for the eye, in steps that nobody sees."""

from __future__ import annotations

from itertools import pairwise

import pytest

from bridge.scenes.evening import STEP_MIRED, at_temperature, between, mired
from bridge.scenes.scene import Scene
from bridge.scenes.temperature import kelvin_to_colour

HOUR_MS = 3_600_000
POINTS = [(0, 4000.0), (4 * HOUR_MS, 2200.0)]


def test_it_begins_and_ends_where_it_is_told() -> None:
    """And stays there before and after."""
    assert between(POINTS, -5) == (4000.0, 0)
    assert between(POINTS, 0)[0] == pytest.approx(4000)
    assert between(POINTS, 4 * HOUR_MS) == (2200.0, None)


def test_steps_are_small_and_few() -> None:
    """About forty for an evening, each of about five mired, told when it comes."""
    seen, now = [], 0
    while True:
        kelvin, next_ms = between(POINTS, now)
        seen.append(kelvin)
        if next_ms is None:
            break
        assert next_ms > now
        assert between(POINTS, next_ms - 1)[0] == kelvin
        now = next_ms
    steps = [mired(warmer) - mired(warm) for warm, warmer in pairwise(seen)]
    assert 30 <= len(steps) <= 50
    assert all(0 < step <= STEP_MIRED * 1.05 for step in steps)


def test_a_scene_is_given_the_colour() -> None:
    """And stays what it was otherwise."""
    scene = Scene("warm", "resting", "steady", (0, 0, 0), 0.3)
    warm = at_temperature(scene, 2700)
    assert (warm.colour, warm.brightness) == (kelvin_to_colour(2700), 0.3)
