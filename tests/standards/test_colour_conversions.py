"""Colours as controllers write them, against independent arithmetic.

Hue, saturation, value and lightness: Python's ``colorsys`` (the standard library's own, after Foley
and van Dam). The transfer curve: IEC 61966-2-1:1999, 5.2, whose threshold, slope and exponent are
known from memory; the values below follow from them by hand, to six digits.
"""

from __future__ import annotations

import colorsys
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.lights.dialect.codecs import decode_colour, encode_colour
from bridge.lights.dialect.grammar import ColourCodec, DialectGrammar, Limits, ScaleCodec
from bridge.lights.dialect.naming import Light, light_names
from bridge.scenes.light import LIGHT, from_linear, to_linear

CHANNEL = st.integers(0, 255)
COLOUR = st.tuples(CHANNEL, CHANNEL, CHANNEL)
FINE = ScaleCodec(high=1.0, digits=6)
GRAMMAR = DialectGrammar(
    "fine",
    Limits(),
    None,
    {},
    hue=FINE,
    saturation=FINE,
    value=FINE,
    red=FINE,
    green=FINE,
    blue=FINE,
)


@given(COLOUR)
def test_hue_saturation_value(colour: tuple[int, int, int]) -> None:
    """As colorsys has them; a whole turn is none."""
    light = Light(colour, 1.0, 1.0, lit=True, effect=None)
    names = light_names(GRAMMAR, light, {"hue", "saturation", "value", "red", "green", "blue"})
    parts = [channel / 255 for channel in colour]
    wanted = colorsys.rgb_to_hsv(*parts)
    found = (names["hue"], names["saturation"], names["value"])
    assert found == pytest.approx((wanted[0] % 1, *wanted[1:]), abs=1e-6)
    assert [names["red"], names["green"], names["blue"]] == pytest.approx(parts, abs=1e-6)


@given(COLOUR)
def test_css_hsl(colour: tuple[int, int, int]) -> None:
    """As colorsys has hue, lightness and saturation; CSS writes degrees and per cent."""
    written = encode_colour(ColourCodec("css", function="hsl"), colour)
    hue, saturation, light = map(float, re.findall(r"[0-9.]+", written))
    wanted = colorsys.rgb_to_hls(*(channel / 255 for channel in colour))
    assert (hue / 360, light / 100, saturation / 100) == pytest.approx(wanted, abs=1e-4)


@given(COLOUR)
def test_white_is_what_the_three_have_in_common(colour: tuple[int, int, int]) -> None:
    """And the light that comes out is the same: white adds to each of them."""
    codec = ColourCodec("list", order="RGBW", white="extract")
    red, green, blue, white = encode_colour(codec, colour)
    assert white == min(colour)
    assert (red + white, green + white, blue + white) == colour
    assert decode_colour(codec, [red, green, blue, white]) == colour


@pytest.mark.parametrize(
    ("code", "light"),
    [
        (0.0, 0.0),
        (0.04045, 0.0031308),
        (0.02, 0.02 / 12.92),
        (0.5, 0.214041),
        (0.735357, 0.5),
        (1.0, 1.0),
    ],
)
def test_the_transfer_curve(code: float, light: float) -> None:
    """Both ways, on both sides of the threshold."""
    assert to_linear(code) == pytest.approx(light, abs=2e-6)
    assert from_linear(light) == pytest.approx(code, abs=2e-5)


def test_grey_89_and_90_lie_on_both_sides_of_a_tenth() -> None:
    """FACTS of the trade for WCAG 2.3.1's step of 10 % relative luminance: .0999 and .10224."""
    assert LIGHT[89] == pytest.approx(0.0999, abs=5e-5)
    assert LIGHT[90] == pytest.approx(0.10224, abs=5e-6)
