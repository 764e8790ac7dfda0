"""The colours of dialects against published conversions.

Sources: A. R. Smith, *Color gamut transform pairs*, SIGGRAPH 1978 (hue, saturation, value), as
``colorsys`` of the standard library and colour-science 0.4.7 have it; W3C, CSS Color Module Level
4, section 7.1 (hsl() to sRGB, the sample code) and section 5 (hex and rgb()); Python's ``decimal``
for what a rounding to the nearest, a half upwards, is.
"""

from __future__ import annotations

import colorsys
import itertools
import math
import random
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Final

import pytest

from bridge.lights.dialect.codecs import (
    decode_colour,
    encode_colour,
    encode_scale,
    parts_of_colour,
)
from bridge.lights.dialect.decoding import colour_of
from bridge.lights.dialect.grammar import ColourCodec, Rounding, ScaleCodec
from bridge.lights.dialect.naming import Light, light_names
from bridge.scenes.scene import Colour
from tests.lights.dialect.building import grammar_of
from tests.standards.colour_science import converted

#: A grid that holds the corners, the greys and the sextants' borders, and colours drawn beside it.
_STEPS: Final = (0, 1, 2, 51, 127, 128, 200, 254, 255)
_DRAWN = random.Random("colours")
COLOURS: Final[list[Colour]] = [
    *itertools.product(_STEPS, _STEPS, _STEPS),
    *((_DRAWN.randrange(256), _DRAWN.randrange(256), _DRAWN.randrange(256)) for _ in range(400)),
]
HSV: Final = ("hue", "saturation", "value")


def shares(colour: Colour) -> tuple[float, float, float]:
    """Red, green and blue as 0..1."""
    red, green, blue = colour
    return red / 255, green / 255, blue / 255


def light_of(colour: Colour, drive: float = 1.0, *, has_white: bool = False) -> Light:
    """A lit steady light."""
    return Light(colour, 1.0, drive, lit=True, effect="plain", has_white=has_white)


@pytest.fixture(scope="module")
def science() -> dict[str, list[list[float]]]:
    """Every colour, as colour-science converts it."""
    asked = [shares(each) for each in COLOURS]
    return converted({"RGB_to_HSV": asked, "RGB_to_HSL": asked})


def test_hue_saturation_value_agree_with_both(science: dict[str, list[list[float]]]) -> None:
    """Smith 1978: to the last digits with colorsys and with colour-science."""
    for colour, other in zip(COLOURS, science["RGB_to_HSV"], strict=True):
        hsv = light_of(colour).hsv
        assert hsv == pytest.approx(colorsys.rgb_to_hsv(*shares(colour)), abs=1e-12)
        apart = abs(hsv[0] - other[0])
        assert min(apart, 1 - apart) < 1e-9, colour
        assert hsv[1:] == pytest.approx(other[1:], abs=1e-9), colour


# Hue in degrees, saturation and value in per cent, of colours that are widely printed beside the
# definition (recalled; the corners follow from Smith's text by hand).
PRINTED: list[tuple[str, float, float, float]] = [
    ("ff0000", 0, 100, 100),
    ("ffff00", 60, 100, 100),
    ("00ff00", 120, 100, 100),
    ("00ffff", 180, 100, 100),
    ("0000ff", 240, 100, 100),
    ("ff00ff", 300, 100, 100),
    ("ffffff", 0, 0, 100),
    ("000000", 0, 0, 0),
    ("bfbf00", 60, 100, 75),
    ("008000", 120, 100, 50),
    ("80ffff", 180, 50, 100),
    ("8080ff", 240, 50, 100),
    ("bf40bf", 300, 66.7, 75),
    ("a0a424", 61.8, 77.9, 64.3),
    ("411bea", 251.1, 88.7, 91.8),
    ("1eac41", 134.9, 82.8, 67.5),
    ("f0c80e", 49.5, 94.4, 94.1),
    ("b430e5", 283.7, 79.2, 89.7),
    ("ed7651", 14.3, 66.1, 93.1),
    ("fef888", 56.9, 46.7, 99.8),
    ("19cb97", 162.4, 87.5, 79.5),
    ("362698", 248.3, 75.0, 59.7),
]


@pytest.mark.parametrize(("digits", "hue", "saturation", "value"), PRINTED)
def test_printed_colours(digits: str, hue: float, saturation: float, value: float) -> None:
    """As a controller is told them in degrees and per cent; hex rounded the printed colours."""
    grammar = grammar_of(
        hue=ScaleCodec(0, 360, digits=1),
        saturation=ScaleCodec(0, 100, digits=1),
        value=ScaleCodec(0, 100, digits=1),
    )
    red, green, blue = bytes.fromhex(digits)
    told = light_names(grammar, light_of((red, green, blue)), HSV)
    assert told["hue"] == pytest.approx(hue, abs=0.5)
    assert told["saturation"] == pytest.approx(saturation, abs=0.4)
    assert told["value"] == pytest.approx(value, abs=0.4)


#: Scales of hue and of the two others: whole turns, thousandths, bytes, 16 bits, proportions.
SCALES: list[tuple[ScaleCodec, ScaleCodec]] = [
    (ScaleCodec(0, 360), ScaleCodec(0, 100)),
    (ScaleCodec(0, 3600), ScaleCodec(0, 1000)),
    (ScaleCodec(0, 255), ScaleCodec(0, 255)),
    (ScaleCodec(0, 65536), ScaleCodec(0, 65535)),
    (ScaleCodec(0, 1, digits=4), ScaleCodec(0, 1, digits=4)),
]


@pytest.mark.parametrize(("turn", "part"), SCALES)
@pytest.mark.parametrize("drive", [1.0, 0.6, 0.25])
def test_what_is_told_gives_the_colour_again(
    turn: ScaleCodec, part: ScaleCodec, drive: float
) -> None:
    """By ``colorsys``: no channel further off than the rounding of the three can carry it.

    v(1 - s(1 - t)) moves by at most half a step of value, half a step of saturation times value,
    and six half steps of hue times both.
    """
    grammar = grammar_of(hue=turn, saturation=part, value=part)
    half_turn = 0.5 / (turn.high * 10**turn.digits)
    half_part = 0.5 / (part.high * 10**part.digits)
    for colour in COLOURS:
        told = light_names(grammar, light_of(colour, drive), HSV)
        assert 0 <= told["hue"] < turn.high
        hsv = (
            told["hue"] / turn.high,
            told["saturation"] / part.high,
            told["value"] / part.high,
        )
        bound = 2 * half_part + 6 * half_turn + 1e-9
        for out, meant in zip(colorsys.hsv_to_rgb(*hsv), shares(colour), strict=True):
            assert abs(out - meant * drive) <= bound, colour


@pytest.mark.parametrize(("turn", "part"), SCALES[3:])
def test_fine_scales_come_back_exactly(turn: ScaleCodec, part: ScaleCodec) -> None:
    """Where the scales are finer than eight bits, what is read back is the very colour."""
    grammar = grammar_of(hue=turn, saturation=part, value=part)
    for colour in COLOURS:
        assert colour_of(grammar, light_names(grammar, light_of(colour), HSV)) == colour


def test_reading_hsv_agrees_with_colour_science() -> None:
    """What a controller says back in its steps is the colour that colour-science makes of it."""
    drawn = random.Random("read")
    told = [
        (drawn.randrange(3600), drawn.randrange(1001), drawn.randrange(1001)) for _ in range(500)
    ]
    told += [(600 * sextant, 1000, 1000) for sextant in range(7)]
    part = ScaleCodec(0, 1000)
    grammar = grammar_of(hue=ScaleCodec(0, 3600), saturation=part, value=part)
    asked = [(hue / 3600, s / 1000, v / 1000) for hue, s, v in told]
    for (hue, s, v), rgb in zip(told, converted({"HSV_to_RGB": asked})["HSV_to_RGB"], strict=True):
        seen = colour_of(grammar, {"hue": hue, "saturation": s, "value": v})
        assert seen is not None
        for channel, exact in zip(seen, rgb, strict=True):
            # Nearest: a half may fall either way by the noise of two ways to reckon it.
            assert abs(channel - exact * 255) <= 0.5 + 1e-6, (hue, s, v)


# Channels by name ---------------------------------------------------------------------------------

#: A proportion to six digits.
FINE: Final = ScaleCodec(0, 1, digits=6)
CHANNELS: Final = grammar_of(red=FINE, green=FINE, blue=FINE, white=FINE)
RGB: Final = ("red", "green", "blue")


def test_the_channels_that_are_told_are_the_wished_ones(
    science: dict[str, list[list[float]]],
) -> None:
    """Each by its own name: as both sources give them back for the colour's hue and so on."""
    back = converted({"HSV_to_RGB": science["RGB_to_HSV"]})["HSV_to_RGB"]
    for colour, other in zip(COLOURS, back, strict=True):
        told = light_names(CHANNELS, light_of(colour), RGB)
        assert set(told) == set(RGB)
        channels = [told[name] for name in RGB]
        wished = colorsys.hsv_to_rgb(*colorsys.rgb_to_hsv(*shares(colour)))
        assert channels == pytest.approx(wished, abs=0.5e-6 + 1e-9), colour
        assert channels == pytest.approx(other, abs=0.5e-6 + 1e-9), colour


@pytest.mark.parametrize("drive", [1.0, 0.6, 0.25])
def test_the_channels_and_the_white_make_the_wished_light(
    drive: float, science: dict[str, list[list[float]]]
) -> None:
    """Light adds; white is v(1 - s) of Smith's 1978, the least of the three, times the drive."""
    for colour, (_, s, v) in zip(COLOURS, science["RGB_to_HSV"], strict=True):
        told = light_names(CHANNELS, light_of(colour, drive, has_white=True), (*RGB, "white"))
        assert told["white"] == pytest.approx(v * (1 - s) * drive, abs=0.5e-6 + 1e-9), colour
        for name, wished in zip(RGB, shares(colour), strict=True):
            assert told[name] + told["white"] == pytest.approx(wished * drive, abs=1e-6 + 1e-9)
        assert min(told[name] for name in RGB) == 0
        if drive == 1.0:
            assert colour_of(CHANNELS, told, has_white=True) == colour


# CSS ----------------------------------------------------------------------------------------------


def hsl_to_rgb(hue: float, saturation: float, light: float) -> tuple[float, float, float]:
    """The sample code of CSS Color 4, section 7.1, transcribed (recalled)."""

    def f(n: int) -> float:
        k = (n + hue / 30) % 12
        a = saturation * min(light, 1 - light)
        return light - a * max(-1, min(k - 3, 9 - k, 1))

    return f(0), f(8), f(4)


HSL = ColourCodec("css", function="hsl")


def numbers_of(text: str) -> tuple[float, float, float]:
    """The three numbers of an hsl() text, taken apart by hand."""
    hue, saturation, light = text.removeprefix("hsl(").removesuffix(")").replace("%", "").split(",")
    return float(hue), float(saturation), float(light)


def test_hsl_as_the_standard_reads_it() -> None:
    """Section 7.1: what is written is the colour, to the nearest of 8 bits."""
    for colour in COLOURS:
        hue, saturation, light = numbers_of(encode_colour(HSL, colour))
        rgb = hsl_to_rgb(hue, saturation / 100, light / 100)
        assert tuple(math.floor(part * 255 + 0.5) for part in rgb) == colour


def test_hsl_agrees_with_colour_science(science: dict[str, list[list[float]]]) -> None:
    """Hue, saturation and lightness to the two digits that are written."""
    for colour, other in zip(COLOURS, science["RGB_to_HSL"], strict=True):
        hue, saturation, light = numbers_of(encode_colour(HSL, colour))
        apart = abs(hue / 360 - other[0])
        assert min(apart, 1 - apart) * 360 <= 0.0051, colour
        assert saturation == pytest.approx(other[1] * 100, abs=0.0051), colour
        assert light == pytest.approx(other[2] * 100, abs=0.0051), colour


@pytest.mark.parametrize("hue", range(0, 360, 7))
def test_hsl_is_read_as_the_standard_reads_it(hue: int) -> None:
    """Any hue, saturation and lightness that a controller may answer with."""
    for saturation, light in itertools.product((0, 13, 50, 100), (0, 25, 50, 90, 100)):
        seen = decode_colour(HSL, f"hsl({hue}, {saturation}%, {light}%)")
        rgb = hsl_to_rgb(hue, saturation / 100, light / 100)
        for channel, exact in zip(seen, rgb, strict=True):
            # It keeps hundredths on the way.
            assert abs(channel - exact * 255) <= 0.51, (saturation, light)


@pytest.mark.parametrize("colour", COLOURS[::7])
def test_hex_and_packed(colour: Colour) -> None:
    """Section 5.2: two digits a channel, red first; an integer is the same digits as a number."""
    plain = ColourCodec("hex", mark="#")
    assert bytes.fromhex(encode_colour(plain, colour).removeprefix("#")) == bytes(colour)
    packed = encode_colour(ColourCodec("integer", order="GRB"), colour)
    red, green, blue = colour
    assert packed.to_bytes(3, "big") == bytes((green, red, blue))
    assert encode_colour(ColourCodec("css"), colour) == f"rgb({red}, {green}, {blue})"


# Scales and the one rounding ----------------------------------------------------------------------

ROUNDINGS: list[tuple[Rounding, str]] = [
    ("nearest", ROUND_HALF_UP),
    ("down", ROUND_FLOOR),
    ("up", ROUND_CEILING),
]


@pytest.mark.parametrize(("rounding", "exact"), ROUNDINGS)
@pytest.mark.parametrize("most", [1, 10, 100, 255, 1000, 1023, 4095, 65_535])
def test_a_level_is_rounded_as_in_exact_decimals(rounding: Rounding, exact: str, most: int) -> None:
    """Every thousandth of a level: binary noise never moves it to the next step."""
    for thousandth in range(1001):
        told = encode_scale(ScaleCodec(0, most, rounding), thousandth / 1000)
        wanted = (Decimal(thousandth) * most / 1000).quantize(Decimal(1), exact)
        assert told == int(wanted), thousandth


@pytest.mark.parametrize(("rounding", "exact"), ROUNDINGS)
@pytest.mark.parametrize("most", [1, 100, 255, 1023, 65_535])
def test_a_folded_level_is_rounded_once(rounding: Rounding, exact: str, most: int) -> None:
    """Each channel times the level, in exact decimals, and then one rounding."""
    codec = ColourCodec("list", to=most)
    step = Decimal(1).scaleb(-codec.digits) if most == 1 else Decimal(1)
    for colour, per_cent in itertools.product(COLOURS[::11], (100, 60, 50, 29, 8, 1)):
        told = encode_colour(codec, colour, per_cent / 100, rounding)
        for channel, number in zip(colour, told, strict=True):
            meant = Decimal(channel) * most * per_cent / Decimal(25_500)
            # What is within the kept noise of a border is on it.
            near = meant.quantize(step * Decimal("0.000001"), ROUND_HALF_UP)
            assert Decimal(str(number)) == near.quantize(step, exact), (colour, per_cent)


WHITES = [
    ColourCodec("object", keys=("r", "g", "b", "w"), white="extract"),
    ColourCodec("list", order="GRBW", white="extract"),
]


@pytest.mark.parametrize("codec", WHITES)
def test_white_is_taken_out_without_a_change_of_light(codec: ColourCodec) -> None:
    """Light adds: each channel and the white together are the channel that was meant."""
    for colour in COLOURS:
        told = encode_colour(codec, colour)
        if isinstance(told, dict):
            red, green, blue, white = (told[key] for key in "rgbw")
        else:
            green, red, blue, white = told
        assert (red + white, green + white, blue + white) == colour
        # As much white as there can be: one of the three is left dark.
        assert min(red, green, blue) == 0
        assert parts_of_colour(codec, told) == colour
