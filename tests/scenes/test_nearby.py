"""Colours near another one."""

from __future__ import annotations

import colorsys
from itertools import islice, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.difference import difference
from bridge.scenes.eyes import labs_of
from bridge.scenes.nearby import nearby
from bridge.scenes.scene import Colour

_CODE = st.integers(0, 255)
ROLES: list[Colour] = [(255, 42, 26), (255, 176, 0), (42, 96, 255), (0, 176, 128)]


@given(st.tuples(_CODE, _CODE, _CODE))
def test_each_is_a_colour_and_none_is_itself(colour: Colour) -> None:
    """Of 8 bits, and once."""
    found = list(nearby(colour))
    assert len(found) == len(set(found))
    assert colour not in found
    assert all(0 <= code <= 255 for each in found for code in each)


@pytest.mark.parametrize("colour", ROLES)
def test_the_hue_stays(colour: Colour) -> None:
    """By another measure of hue (Smith 1978): none is on the other side of its neighbours."""
    red, green, blue = colour
    hue = colorsys.rgb_to_hsv(red / 255, green / 255, blue / 255)[0]
    found = list(nearby(colour))
    assert len(found) > 50
    for r, g, b in found:
        turn = abs(colorsys.rgb_to_hsv(r / 255, g / 255, b / 255)[0] - hue)
        assert min(turn, 1 - turn) * 360 <= 45, (r, g, b)


@pytest.mark.parametrize("colour", ROLES)
def test_the_nearest_come_first(colour: Colour) -> None:
    """By another measure of nearness: on the whole, as the two are not the same."""
    found = [difference(labs_of(colour)[0], labs_of(each)[0]) for each in nearby(colour)]
    third = len(found) // 3
    means = [
        sum(part) / third for part in (found[:third], found[third : 2 * third], found[-third:])
    ]
    assert all(one < other for one, other in pairwise(means))
    assert found[0] < 15


def test_a_white_stays_white() -> None:
    """It has no hue, so it grows lighter or darker only."""
    found = list(islice(nearby((216, 216, 208)), 50))
    assert found
    assert all(max(each) - min(each) <= 16 for each in found)
