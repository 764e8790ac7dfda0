"""Light and code are each other's inverse, and light is what is mixed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.light import LIGHT, code_of, dimmed, from_linear, mix, to_linear
from bridge.scenes.scene import Colour
from tests.scenes.seeing import luminance

COLOURS = st.tuples(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))


@pytest.mark.parametrize("code", range(256))
def test_a_code_comes_back_from_its_light(code: int) -> None:
    """All 256, through the table and through the formulas."""
    assert code_of(LIGHT[code]) == code
    assert from_linear(LIGHT[code]) * 255 == pytest.approx(code, abs=1e-9)


@given(st.floats(0, 1))
def test_the_nearest_code_is_taken(light: float) -> None:
    """By the code scale, to half a step."""
    assert abs(code_of(light) - from_linear(light) * 255) <= 0.5 + 1e-9


@given(st.floats(0, 1))
def test_the_transfer_function_is_inverted(code: float) -> None:
    """Both ways, across the join of its two pieces."""
    assert from_linear(to_linear(code)) == pytest.approx(code, abs=1e-6)


@given(COLOURS, COLOURS, st.floats(0, 1))
def test_a_mixture_lies_between(one: Colour, other: Colour, share: float) -> None:
    """Each channel between those it is mixed of, and the ends are the colours themselves."""
    for mixed, a, b in zip(mix(one, other, share), one, other, strict=True):
        assert min(a, b) <= mixed <= max(a, b)
    assert (mix(one, other, 1.0), mix(one, other, 0.0)) == (one, other)


@given(COLOURS, COLOURS)
def test_half_of_each_has_half_the_light_of_both(one: Colour, other: Colour) -> None:
    """What a diffuser would make of two neighbours."""
    wanted = (luminance(one) + luminance(other)) / 2
    assert luminance(mix(one, other, 0.5)) == pytest.approx(wanted, abs=0.005)


DIMMED: list[tuple[Colour, float, Colour]] = [
    ((255, 100, 0), 0.01, (3, 1, 0)),  # an orange at 1 % has lost its hue
    ((200, 90, 30), 0.63, (126, 57, 19)),
    ((0, 161, 255), 0.5, (0, 81, 128)),
    ((255, 255, 255), 1.0, (255, 255, 255)),
    ((255, 255, 255), 0.0, (0, 0, 0)),
]


@pytest.mark.parametrize(("colour", "brightness", "expected"), DIMMED)
def test_dimming_is_a_proportion_of_each_code(
    colour: Colour, brightness: float, expected: Colour
) -> None:
    """A half goes up."""
    assert dimmed(colour, brightness) == expected
