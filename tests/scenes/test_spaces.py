"""Spaces of CSS as linear light, each against another way to the same colour."""

from __future__ import annotations

import pytest

from bridge.scenes.light import to_linear
from bridge.scenes.spaces import SPACES, lab, oklab, polar


def test_greys_are_grey_in_each() -> None:
    """Half of the lightness of CIE Lab is 18.4 % of the light (by its definition)."""
    light = ((50 + 16) / 116) ** 3
    assert lab(50, 0, 0) == pytest.approx((light,) * 3, abs=1e-4)
    assert oklab(0.5, 0, 0) == pytest.approx((0.125,) * 3, abs=1e-4)
    assert SPACES["display-p3"](0.5, 0.5, 0.5) == pytest.approx((to_linear(0.5),) * 3, abs=1e-4)


def test_dark_lab_is_on_the_straight_part() -> None:
    """CIE: below a lightness of 8 it goes with the light, 903.3 for all of it."""
    assert lab(4, 0, 0) == pytest.approx((4 * 27 / 24389,) * 3, abs=1e-5)


def test_a_hue_goes_round() -> None:
    """By turns."""
    assert polar(oklab, 0.6, 0.1, 0.25) == pytest.approx(oklab(0.6, 0, 0.1))
    assert polar(oklab, 0.6, 0.1, 1.5) == pytest.approx(oklab(0.6, -0.1, 0))


def test_the_curve_goes_on_below_nought() -> None:
    """As CSS Color 4 §10.2 has it."""
    assert SPACES["srgb"](-0.5, 0, 0)[0] == -to_linear(0.5)
    assert SPACES["srgb-linear"](-0.5, 2, 0) == (-0.5, 2, 0)


def test_p3_reaches_beyond() -> None:
    """Its green has less than no red."""
    red, green, blue = SPACES["display-p3"](0, 1, 0)
    assert red < 0
    assert green > 1
    assert blue < 0
    assert SPACES["xyz"] is SPACES["xyz-d65"]
