"""Ways between colours that look even and keep the hue."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.oklab import between, from_light, oklab_of, to_light
from bridge.scenes.scene import Colour

CODES = st.integers(0, 255)
COLOURS = st.tuples(CODES, CODES, CODES)


@given(COLOURS, COLOURS)
def test_the_way_begins_and_ends_where_it_should(one: Colour, other: Colour) -> None:
    """To the code."""
    assert between(one, other, 0.0) == one
    assert between(one, other, 1.0) == other


@given(st.tuples(*[st.floats(0, 1)] * 3))
def test_there_and_back(light: tuple[float, float, float]) -> None:
    """The published matrices are each other's inverse to seven digits."""
    back = to_light(from_light(*light))
    assert all(math.isclose(a, b, abs_tol=1e-5) for a, b in zip(light, back, strict=True))


def test_half_way_looks_half_as_light() -> None:
    """Not half the light, nor half the code."""
    black, white = oklab_of((0, 0, 0))[0], oklab_of((255, 255, 255))[0]
    assert math.isclose(oklab_of(between((0, 0, 0), (255, 255, 255), 0.5))[0], 0.5, abs_tol=0.003)
    assert (round(black, 6), round(white, 6)) == (0.0, 1.0)


@given(st.sampled_from([(255, 42, 26), (255, 176, 0), (42, 96, 255), (0, 176, 96)]))
def test_what_gets_darker_keeps_its_hue(colour: Colour) -> None:
    """To some degrees, as far as 8 bits allow."""
    _, a, b = oklab_of(colour)
    _, c, d = oklab_of(between(colour, (0, 0, 0), 0.5))
    turn = math.degrees(math.atan2(b, a) - math.atan2(d, c))
    assert abs((turn + 180) % 360 - 180) < 2
