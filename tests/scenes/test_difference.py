"""Distances between colours; the published ones are in tests/standards."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.difference import MOST_LIGHTNESS_WEIGHT, Lab, difference, lab_of

_AXIS = st.floats(-120, 120)
LABS = st.tuples(st.floats(0, 100), _AXIS, _AXIS)


@given(LABS, LABS)
def test_it_is_the_same_both_ways(one: Lab, other: Lab) -> None:
    """Who is compared with whom does not matter."""
    assert difference(one, other) == pytest.approx(difference(other, one), abs=1e-9)


@given(LABS)
def test_a_colour_is_not_apart_from_itself(lab: Lab) -> None:
    """Whatever it is."""
    assert difference(lab, lab) == 0


@given(LABS, LABS)
def test_what_differs_in_lightness_is_at_least_so_far_apart(one: Lab, other: Lab) -> None:
    """So that a great difference in it spares the rest."""
    at_least = abs(one[0] - other[0]) / MOST_LIGHTNESS_WEIGHT
    assert difference(one, other) >= at_least - 1e-9


def test_white_and_black() -> None:
    """The two ends of the scale, without colour."""
    assert lab_of((1.0, 1.0, 1.0)) == pytest.approx((100, 0, 0), abs=1e-9)
    assert lab_of((0.0, 0.0, 0.0)) == pytest.approx((0, 0, 0), abs=1e-9)
    assert difference((0, 0, 0), (100, 0, 0)) == pytest.approx(100)


@given(st.floats(0, 1))
def test_greys_have_no_colour(light: float) -> None:
    """They lie on the axis of lightness, the brighter the higher."""
    lightness, a, b = lab_of((light, light, light))
    assert math.hypot(a, b) < 1e-9
    assert 0 <= lightness <= 100 + 1e-9
