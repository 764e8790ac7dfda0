"""What people write for a colour; the standard's own examples are in tests/standards."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.colour import ColourError, kelvin_to_colour, parse_colour
from bridge.scenes.scene import Colour

SPELLINGS = [
    "#00B060",
    "#00b060",
    " #00b060 ",
    "rgb(0 176 96)",
    "RGB(0, 176, 96)",
    "rgb(0,176,96)",
    "rgba(0 176 96)",
    "rgb(0.0 1.76e2 96)",
    "rgb(0.4 175.6 96.4)",
    "rgb(-3 176 96)",
    "rgb(none 176 96)",
]


@pytest.mark.parametrize("text", SPELLINGS)
def test_one_colour_has_many_spellings(text: str) -> None:
    """Case, blanks, commas, decimals: one green."""
    assert parse_colour(text) == (0, 176, 96)


REFUSED = [
    ("oragne", "did you mean orange?"),
    ("healthyish", "expected a CSS colour such as"),
    ("", "expected a CSS colour such as"),
    ("transparent", "black is dark"),
    ("currentColor", "black is dark"),
    ("#00b06", "three or six hex digits"),
    ("#00b0601", "three or six hex digits"),
    ("#ggg", "three or six hex digits"),
    ("#", "three or six hex digits"),
    ("#0f08", "has an alpha"),
    ("#00ff0080", "has an alpha"),
    ("rgb(1 2 3 / 50%)", "has an alpha"),
    ("rgba(1, 2, 3, 0.5)", "has an alpha"),
    ("hsl(1 2% 3% / 1)", "has an alpha"),
    ("rgb(1 2)", "expected rgb(0 176 96)"),
    ("rgb(1 2 3 4)", "expected rgb(0 176 96)"),
    ("rgb()", "expected rgb(0 176 96)"),
    ("rgb(1, 2%, 3)", "expected rgb(0 176 96)"),
    ("rgb(1, none, 3)", "'none' is no number"),
    ("rgb(1 two 3)", "'two' is no number"),
    ("rgb(1deg 2 3)", "has an angle"),
    ("rgb(1 2 0x3)", "'0x3' is no number"),
    ("rgb(1 2 nan)", "'nan' is no number"),
    ("hsl(1, 2, 3)", "expected hsl(153 100% 35%)"),
    ("hsl(10% 2% 3%)", "has a percentage as its hue"),
    ("hwb(1, 2%, 3%)", "expected hwb(153 0% 31%)"),
    ("luv(1 2 3)", "luv() is none of rgb(), hsl(), hwb(), lab(), lch(), oklab(), oklch(), color()"),
    ("color(rec 1 0 0)", "is in no space known here; known are srgb, srgb-linear, display-p3"),
    ("color(srgb 1 0)", "expected color(display-p3 0.3 0.7 0.4)"),
    ("color()", "expected color(display-p3 0.3 0.7 0.4)"),
    ("oklch(60%, 0.1, 50)", "expected oklch(66% 0.17 154)"),
    ("lab(1 2deg 3)", "has an angle"),
    ("2700 K", "expected a CSS colour such as"),
]


@pytest.mark.parametrize(("text", "sentence"), REFUSED)
def test_what_is_no_colour_says_why(text: str, sentence: str) -> None:
    """The text is shown, with what is wrong and what would be right."""
    with pytest.raises(ColourError) as refused:
        parse_colour(text)
    assert sentence in str(refused.value)
    assert str(refused.value).startswith(f"'{text}' ")


CHANNELS = st.integers(0, 255)


@given(CHANNELS, CHANNELS, CHANNELS)
def test_every_colour_is_read_as_written(red: int, green: int, blue: int) -> None:
    """As hex digits, as numbers and as percentages."""
    colour: Colour = (red, green, blue)
    assert parse_colour(f"#{red:02x}{green:02x}{blue:02x}") == colour
    assert parse_colour(f"rgb({red} {green} {blue})") == colour
    percentages = " ".join(f"{channel / 2.55:.6f}%" for channel in colour)
    assert parse_colour(f"rgb({percentages})") == colour


@given(st.text(max_size=20))
def test_any_text_is_a_colour_or_refused(text: str) -> None:
    """Never another exception."""
    try:
        colour = parse_colour(text)
    except ColourError:
        return
    assert all(0 <= channel <= 255 for channel in colour)


def test_a_temperature_is_a_colour_beside_them() -> None:
    """The same module gives both, since a legend may write either."""
    assert kelvin_to_colour(2700)[0] == 255
