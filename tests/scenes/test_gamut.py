"""What no strip has is brought to the nearest that it has, and keeps its hue."""

from __future__ import annotations

import itertools
import math

from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.gamut import fitted
from bridge.scenes.light import LIGHT
from bridge.scenes.oklab import oklab_of, to_light
from bridge.scenes.scene import Colour

CODES = st.integers(0, 255)


@given(st.tuples(CODES, CODES, CODES))
def test_what_it_has_is_itself(colour: Colour) -> None:
    """To the code."""
    red, green, blue = colour
    assert fitted((LIGHT[red], LIGHT[green], LIGHT[blue])) == colour


@given(st.floats(0.25, 0.9), st.floats(0.15, 0.5), st.floats(0, 2 * math.pi))
def test_the_hue_and_the_lightness_stay(lightness: float, chroma: float, angle: float) -> None:
    """To what can just be seen (CSS Color 4 §13.2), whatever was asked for."""
    wished = lightness, chroma * math.cos(angle), chroma * math.sin(angle)
    found = oklab_of(fitted(to_light(wished)))
    assert abs(found[0] - lightness) < 0.03
    kept = math.hypot(found[1], found[2])
    turn = math.remainder(math.atan2(found[2], found[1]) - angle, 2 * math.pi)
    # A turn is seen by the way that it moves the colour.
    assert abs(math.sin(turn)) * kept < 0.03
    assert kept <= chroma + 0.02


def test_more_than_light_is_white_and_less_than_none_is_black() -> None:
    """Whatever their chroma."""
    assert fitted((1.2, 1.1, 1.3)) == (255, 255, 255)
    assert fitted((-0.2, -0.1, -0.3)) == (0, 0, 0)


def test_more_chroma_never_turns_into_less() -> None:
    """A green that is asked for ever more strongly stays the strongest there is."""
    strong = [fitted(to_light((0.7, -chroma / 100, chroma / 100))) for chroma in range(5, 60, 5)]
    chromas = [math.hypot(*oklab_of(each)[1:]) for each in strong]
    assert all(later >= earlier - 0.01 for earlier, later in itertools.pairwise(chromas))
