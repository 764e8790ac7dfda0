"""What another eye sees of a colour."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.scene import Colour
from bridge.scenes.sight import Sight, seen
from tests.scenes.seeing import luminance

SIGHTS: tuple[Sight, ...] = get_args(Sight)
CODE = st.integers(0, 255)
COLOUR = st.tuples(CODE, CODE, CODE)


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("grey", [0, 1, 16, 128, 254, 255])
def test_grey_looks_grey_to_everybody(sight: Sight, grey: int) -> None:
    """And as bright, within what six digits of a matrix give."""
    for code in seen((grey, grey, grey), sight):
        assert abs(code - grey) <= 1


@given(COLOUR)
def test_a_normal_eye_sees_it_as_it_is(colour: Colour) -> None:
    """Whatever it is."""
    assert seen(colour, "normal") == colour


@given(COLOUR)
def test_without_colours_its_light_is_left(colour: Colour) -> None:
    """One code three times, of the same relative luminance, to the nearest code."""
    red, green, blue = seen(colour, "greyscale")
    assert red == green == blue
    around = [luminance((grey, grey, grey)) for grey in (max(red - 1, 0), red, min(red + 1, 255))]
    distances = [abs(light - luminance(colour)) for light in around]
    assert min(distances) == distances[1]


#: Colours that are far apart and that this sight takes for nearly the same hue.
CONFUSED: list[tuple[Sight, Colour, Colour]] = [
    ("protanopia", (0, 255, 0), (255, 255, 0)),
    ("deuteranopia", (255, 191, 0), (100, 240, 0)),
    ("tritanopia", (255, 255, 0), (255, 255, 230)),
]


@pytest.mark.parametrize(("sight", "one", "other"), CONFUSED)
def test_what_one_sight_confuses_it_draws_closer(sight: Sight, one: Colour, other: Colour) -> None:
    """Less than half as far apart in code as they are."""
    before = sum(abs(a - b) for a, b in zip(one, other, strict=True))
    pairs = zip(seen(one, sight), seen(other, sight), strict=True)
    assert sum(abs(a - b) for a, b in pairs) < before / 2
