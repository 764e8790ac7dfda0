"""Colours against CSS Color Module Level 4, sRGB against IEC 61966-2-1 and WCAG, heat against CIE.

Sources: W3C, CSS Color Module Level 4 (https://www.w3.org/TR/css-color-4/), sections named at each
table; IEC 61966-2-1:1999; WCAG 2.2 "relative luminance"; CIE 15:2004. Each table says how its
values were come by.
"""

from __future__ import annotations

import pytest

from bridge.scenes.colour import ColourError, kelvin_to_colour, parse_colour
from bridge.scenes.colour_names import NAMED_COLOURS
from bridge.scenes.light import LIGHT, code_of, from_linear, to_linear
from bridge.scenes.scene import Colour
from bridge.scenes.temperature import black_body
from tests.scenes.seeing import luminance

# Section 6.1, Named Colors: names with the table's decimal column. Checked against the table as the
# independent package webcolors 25.10.0 has it (147 names; rebeccapurple by hand: 102 51 153).
NAMED = """
aliceblue 240 248 255; antiquewhite 250 235 215; aqua 0 255 255; aquamarine 127 255 212;
azure 240 255 255; beige 245 245 220; bisque 255 228 196; black 0 0 0;
blanchedalmond 255 235 205; blue 0 0 255; blueviolet 138 43 226; brown 165 42 42;
burlywood 222 184 135; cadetblue 95 158 160; chartreuse 127 255 0; chocolate 210 105 30;
coral 255 127 80; cornflowerblue 100 149 237; cornsilk 255 248 220; crimson 220 20 60;
cyan 0 255 255; darkblue 0 0 139; darkcyan 0 139 139; darkgoldenrod 184 134 11;
darkgray 169 169 169; darkgreen 0 100 0; darkgrey 169 169 169; darkkhaki 189 183 107;
darkmagenta 139 0 139; darkolivegreen 85 107 47; darkorange 255 140 0; darkorchid 153 50 204;
darkred 139 0 0; darksalmon 233 150 122; darkseagreen 143 188 143; darkslateblue 72 61 139;
darkslategray 47 79 79; darkslategrey 47 79 79; darkturquoise 0 206 209; darkviolet 148 0 211;
deeppink 255 20 147; deepskyblue 0 191 255; dimgray 105 105 105; dimgrey 105 105 105;
dodgerblue 30 144 255; firebrick 178 34 34; floralwhite 255 250 240; forestgreen 34 139 34;
fuchsia 255 0 255; gainsboro 220 220 220; ghostwhite 248 248 255; gold 255 215 0;
goldenrod 218 165 32; gray 128 128 128; green 0 128 0; greenyellow 173 255 47; grey 128 128 128;
honeydew 240 255 240; hotpink 255 105 180; indianred 205 92 92; indigo 75 0 130;
ivory 255 255 240; khaki 240 230 140; lavender 230 230 250; lavenderblush 255 240 245;
lawngreen 124 252 0; lemonchiffon 255 250 205; lightblue 173 216 230; lightcoral 240 128 128;
lightcyan 224 255 255; lightgoldenrodyellow 250 250 210; lightgray 211 211 211;
lightgreen 144 238 144; lightgrey 211 211 211; lightpink 255 182 193; lightsalmon 255 160 122;
lightseagreen 32 178 170; lightskyblue 135 206 250; lightslategray 119 136 153;
lightslategrey 119 136 153; lightsteelblue 176 196 222; lightyellow 255 255 224; lime 0 255 0;
limegreen 50 205 50; linen 250 240 230; magenta 255 0 255; maroon 128 0 0;
mediumaquamarine 102 205 170; mediumblue 0 0 205; mediumorchid 186 85 211;
mediumpurple 147 112 219; mediumseagreen 60 179 113; mediumslateblue 123 104 238;
mediumspringgreen 0 250 154; mediumturquoise 72 209 204; mediumvioletred 199 21 133;
midnightblue 25 25 112; mintcream 245 255 250; mistyrose 255 228 225; moccasin 255 228 181;
navajowhite 255 222 173; navy 0 0 128; oldlace 253 245 230; olive 128 128 0;
olivedrab 107 142 35; orange 255 165 0; orangered 255 69 0; orchid 218 112 214;
palegoldenrod 238 232 170; palegreen 152 251 152; paleturquoise 175 238 238;
palevioletred 219 112 147; papayawhip 255 239 213; peachpuff 255 218 185; peru 205 133 63;
pink 255 192 203; plum 221 160 221; powderblue 176 224 230; purple 128 0 128;
rebeccapurple 102 51 153; red 255 0 0; rosybrown 188 143 143; royalblue 65 105 225;
saddlebrown 139 69 19; salmon 250 128 114; sandybrown 244 164 96; seagreen 46 139 87;
seashell 255 245 238; sienna 160 82 45; silver 192 192 192; skyblue 135 206 235;
slateblue 106 90 205; slategray 112 128 144; slategrey 112 128 144; snow 255 250 250;
springgreen 0 255 127; steelblue 70 130 180; tan 210 180 140; teal 0 128 128;
thistle 216 191 216; tomato 255 99 71; turquoise 64 224 208; violet 238 130 238;
wheat 245 222 179; white 255 255 255; whitesmoke 245 245 245; yellow 255 255 0;
yellowgreen 154 205 50
"""


def _named() -> list[tuple[str, Colour]]:
    rows = [row.split() for row in NAMED.replace("\n", " ").split(";")]
    return [(name, (int(red), int(green), int(blue))) for name, red, green, blue in rows]


def test_there_are_148_named_colours() -> None:
    """No more and no fewer than section 6.1 lists."""
    assert {name for name, _ in _named()} == NAMED_COLOURS.keys()
    assert len(_named()) == 148


@pytest.mark.parametrize(("name", "colour"), _named())
def test_a_named_colour_is_the_standards(name: str, colour: Colour) -> None:
    """Section 6.1; names are matched without regard to case."""
    assert parse_colour(name) == colour
    assert parse_colour(name.title()) == colour


# Examples and rules of the text, by section (recalled; the arithmetic of each was done by hand).
EXAMPLES: list[tuple[str, Colour]] = [
    # 5.1 rgb(): lime four ways; numbers and percentages; out of range is clamped
    ("lime", (0, 255, 0)),
    ("rgb(0 255 0)", (0, 255, 0)),
    ("rgb(0% 100% 0%)", (0, 255, 0)),
    ("rgb(0, 255, 0)", (0, 255, 0)),
    ("rgb(255 0 0)", (255, 0, 0)),
    ("rgb(300 0 0)", (255, 0, 0)),
    ("rgb(110%, 0%, 0%)", (255, 0, 0)),
    ("rgb(0 -10 0)", (0, 0, 0)),
    # 5.2 hex: three digits are each doubled
    ("#0f0", (0, 255, 0)),
    ("#00ff00", (0, 255, 0)),
    ("#123", (0x11, 0x22, 0x33)),
    ("#FB0", (0xFF, 0xBB, 0)),
    # 7 hsl(): hues in degrees or any angle, and round and round
    ("hsl(120deg 100% 50%)", (0, 255, 0)),
    ("hsl(120 100% 25%)", (0, 128, 0)),
    ("hsl(120, 100%, 75%)", (128, 255, 128)),
    ("hsl(0 100% 50%)", (255, 0, 0)),
    ("hsl(360 100% 50%)", (255, 0, 0)),
    ("hsl(-240 100% 50%)", (0, 255, 0)),
    ("hsl(480 100% 50%)", (0, 255, 0)),
    ("hsl(0.5turn 100% 50%)", (0, 255, 255)),
    ("hsl(200grad 100% 50%)", (0, 255, 255)),
    ("hsl(3.14159265rad 100% 50%)", (0, 255, 255)),
    ("hsl(120 100 50)", (0, 255, 0)),
    ("hsl(77 0% 50%)", (128, 128, 128)),
    ("hsl(77 20% 100%)", (255, 255, 255)),
    # 8 hwb(): the example hwb(150 20% 10%) = hsl(150 77.78% 55%) = rgb(20% 90% 55%)
    ("hwb(150 20% 10%)", (51, 230, 140)),
    ("hsl(150 77.78% 55%)", (51, 230, 140)),
    ("rgb(20% 90% 55%)", (51, 230, 140)),
    # green is (240 - 194) / 60 * 255 = 195.5, and a half is rounded upwards
    ("hwb(194 0% 0%)", (0, 196, 255)),
    # 8.1: white and black of 100 % or more together make a grey
    ("hwb(45 40% 80%)", (85, 85, 85)),
    ("hwb(45 100% 100%)", (128, 128, 128)),
    # 4.4: a missing component counts as nought
    ("rgb(none 255 none)", (0, 255, 0)),
    ("hsl(none 100% 50%)", (255, 0, 0)),
    # 9.3 and 9.4, from memory: the examples' two colours in each of the four spaces, and CSS green
    # as web-platform-tests have it in lab()
    ("lab(29.2345% 39.3825 20.0664)", (0x7D, 0x23, 0x29)),
    ("oklab(40.101% 0.1147 0.0453)", (0x7D, 0x23, 0x29)),
    ("lch(52.2345% 72.2 56.2)", (0xC6, 0x5D, 0x06)),
    ("oklch(59.686% 0.15619 49.7694)", (0xC6, 0x5D, 0x06)),
    ("lab(46.2775% -47.5621 48.5837)", (0, 128, 0)),
    # 9.3: lightness is clamped; percentages of a and b are of 125, of chroma 150, in Oklab 0.4
    ("lab(150% 0 0)", (255, 255, 255)),
    ("oklab(-1 0 0)", (0, 0, 0)),
    ("lab(46.2775% -38.04968% 38.86696%)", (0, 128, 0)),
    ("oklch(59.686% 39.0475% 49.7694)", (0xC6, 0x5D, 0x06)),
    # 10.2: color()
    ("color(srgb 1 0.5 0)", (255, 128, 0)),
    ("color(srgb 100% 50% 0%)", (255, 128, 0)),
    ("color(srgb-linear 1 0.21404 0)", (255, 127, 0)),
    ("color(display-p3 1 1 1)", (255, 255, 255)),
    # 10.8: the white point D65
    ("color(xyz 0.95046 1 1.08906)", (255, 255, 255)),
]


@pytest.mark.parametrize(("text", "colour"), EXAMPLES)
def test_the_standards_examples(text: str, colour: Colour) -> None:
    """Each text is the colour that the standard's text or rules give it."""
    assert parse_colour(text) == colour


# Valid in the standard and refused here, since a light has no alpha and three channels of its own.
NOT_FOR_LIGHTS = [
    "#0f08",
    "#00ff0080",
    "rgb(0 255 0 / 0.5)",
    "rgba(0, 255, 0, 0.5)",
    "hsl(120 100% 50% / 50%)",
    "hwb(120 0% 0% / 1)",
    "transparent",
    "currentcolor",
    "lab(50% 40 59.5 / 0.5)",
    # Valid there, in a space that nobody picks a light's colour in.
    "color(prophoto-rgb 0 1 0)",
    # Invalid in the standard: section 5.1 forbids mixing with commas, 8 has no form with commas.
    "rgb(0, 100%, 0)",
    "hwb(150, 20%, 10%)",
    "oklch(60%, 0.1, 50)",
    "color(srgb, 1, 0, 0)",
    "hsl(120, 100, 50)",
    "rgb(0 255, 0)",
    "#12",
    "#12345",
]


@pytest.mark.parametrize("text", NOT_FOR_LIGHTS)
def test_what_a_light_cannot_be_is_refused(text: str) -> None:
    """With a sentence, never a guess."""
    with pytest.raises(ColourError):
        parse_colour(text)


# IEC 61966-2-1: the pieces join at 0.04045 and 0.0031308, to the digits that it prints; the values
# at a half are widely printed (recalled).
TRANSFER = [(0.0, 0.0), (0.04045, 0.0031308), (0.5, 0.2140411), (0.735357, 0.5), (1.0, 1.0)]


@pytest.mark.parametrize(("code", "light"), TRANSFER)
def test_the_transfer_function_of_srgb(code: float, light: float) -> None:
    """Both directions of IEC 61966-2-1."""
    assert to_linear(code) == pytest.approx(light, abs=1e-6)
    assert from_linear(light) == pytest.approx(code, abs=1e-6)


# WCAG 2.2: the weights of the primaries; the others were computed from its formula apart
# from this code: greys 89 and 90 are the two sides of the first 10 % step.
LUMINANCES: list[tuple[Colour, float, float]] = [
    ((255, 0, 0), 0.2126, 1e-9),
    ((0, 255, 0), 0.7152, 1e-9),
    ((0, 0, 255), 0.0722, 1e-9),
    ((255, 255, 255), 1.0, 1e-9),
    ((0xFF, 0xBF, 0x00), 0.58522, 5e-6),
    ((0xFF, 0x64, 0x00), 0.30374, 5e-6),
    ((89, 89, 89), 0.0999, 5e-5),
    ((90, 90, 90), 0.10224, 5e-6),
]


@pytest.mark.parametrize(("colour", "light", "within"), LUMINANCES)
def test_relative_luminance(colour: Colour, light: float, within: float) -> None:
    """WCAG 2.2, to the digits printed: what the tests of scenes see by, on sRGB's transfer."""
    assert luminance(colour) == pytest.approx(light, abs=within)


def test_middle_grey_in_light() -> None:
    """Half the light of white is code 188 (187.5 in the formula of IEC 61966-2-1, recalled)."""
    assert code_of(0.5) == 188
    assert LIGHT[128] == pytest.approx(0.2158605, abs=1e-6)


# CIE 1931 chromaticities: illuminant A (CIE 15:2004, a black body of 2856 K with the constant of
# today: 2855.54 K), and the black body's locus (Wyszecki and Stiles, Color Science; recalled). The
# fit of the observer that is used is within 0.003 of them.
BLACK_BODY = [
    (2000, 0.5267, 0.4133),
    (2855.54, 0.44758, 0.40745),
    (4000, 0.3805, 0.3768),
    (6500, 0.3135, 0.3237),
    (10_000, 0.2807, 0.2884),
]


@pytest.mark.parametrize(("kelvin", "x", "y"), BLACK_BODY)
def test_the_chromaticity_of_a_black_body(kelvin: float, x: float, y: float) -> None:
    """Where the published locus is."""
    parts = black_body(kelvin)
    assert parts[0] / sum(parts) == pytest.approx(x, abs=0.003)
    assert parts[1] / sum(parts) == pytest.approx(y, abs=0.003)


def test_daylight_is_nearly_white() -> None:
    """The white point of sRGB is D65, near a black body of 6500 K."""
    assert min(kelvin_to_colour(6500)) >= 245
