"""Colours near another, of its hue."""

from __future__ import annotations

import math
from itertools import islice, pairwise

import pytest

from bridge.scenes.nearby import nearby
from bridge.scenes.oklab import oklab_of
from bridge.scenes.scene import Colour

ROLES: list[Colour] = [(255, 42, 26), (255, 176, 0), (42, 96, 255), (0, 176, 128)]


@pytest.mark.parametrize("colour", ROLES)
def test_they_keep_their_hue(colour: Colour) -> None:
    """To three steps of seven degrees, and what 8 bits make of that."""
    _, a, b = oklab_of(colour)
    for near in nearby(colour):
        _, c, d = oklab_of(near)
        turn = math.degrees(math.remainder(math.atan2(d, c) - math.atan2(b, a), 2 * math.pi))
        assert abs(turn) < 24 or math.hypot(c, d) < 0.03


@pytest.mark.parametrize("colour", ROLES)
def test_the_nearest_come_first_and_none_twice(colour: Colour) -> None:
    """Itself is none of them."""
    found = list(nearby(colour))
    assert len(set(found)) == len(found) > 50
    assert colour not in found
    away = [math.dist(oklab_of(colour), oklab_of(each)) for each in found]
    # In whole, as rounding to 8 bits moves each a little.
    assert max(away[:10]) < min(away[-10:])
    assert all(later > earlier - 0.02 for earlier, later in pairwise(away))


def test_a_whites_neighbours_are_whites() -> None:
    """It has no hue to keep, and may only be lighter or darker."""
    for near in islice(nearby((216, 216, 208)), 20):
        assert max(near) - min(near) <= 12
