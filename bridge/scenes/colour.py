"""Colours as people write them: CSS Color 4, and a temperature's colour beside them."""

from __future__ import annotations

import colorsys
import math
import re
from collections.abc import Callable, Sequence
from difflib import get_close_matches
from typing import Final, TypeAlias

from bridge.scenes.colour_names import NAMED_COLOURS
from bridge.scenes.gamut import fitted
from bridge.scenes.scene import Colour
from bridge.scenes.spaces import SPACES, lab, oklab, polar
from bridge.scenes.temperature import kelvin_to_colour

__all__ = ["ColourError", "kelvin_to_colour", "parse_colour"]

_FUNCTION: Final = re.compile(r"([a-z][a-z0-9-]*)\((.*)\)", re.DOTALL)
_HEX: Final = re.compile(r"#([0-9a-f]+)")
_NUMBER: Final = re.compile(r"([+-]?(?:\d+\.\d+|\d+|\.\d+)(?:e[+-]?\d+)?)(%|deg|grad|rad|turn)?")
#: Degrees in one unit of an angle (CSS Values 4 §7.1).
_ANGLES: Final = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}
_EXPECTED: Final = (
    "expected a CSS colour such as #00b060, orange, rgb(0 176 96) or hsl(153 100% 35%)"
)

#: A value and its unit: ``%``, an angle's, or none.
_Value: TypeAlias = tuple[float, str]


class ColourError(ValueError):
    """The text is no colour that a light can have."""

    def __init__(self, text: str, problem: str) -> None:
        super().__init__(f"'{text}' {problem}")


def parse_colour(text: str) -> Colour:
    """The 8-bit colour of a CSS Color 4 text: a name, hex digits, or one of its functions.

    As in CSS, numbers out of their range are clamped, and what lies beyond sRGB is brought to the
    nearest of the same hue. A light has no alpha.
    """
    plain = text.strip().lower()
    if plain in NAMED_COLOURS:
        return NAMED_COLOURS[plain]
    if plain.startswith("#"):
        return _parse_hex(text, plain)
    if function := _FUNCTION.fullmatch(plain):
        return _parse_function(text, function[1], function[2])
    if plain in {"transparent", "currentcolor"}:
        raise ColourError(text, "is no light of its own; black is dark")
    near = get_close_matches(plain, NAMED_COLOURS, n=1)
    hint = f"did you mean {near[0]}?" if near else _EXPECTED
    raise ColourError(text, f"is no colour; {hint}")


def _parse_hex(text: str, plain: str) -> Colour:
    found = _HEX.fullmatch(plain)
    digits = found[1] if found else ""
    if len(digits) in {4, 8}:
        raise ColourError(text, "has an alpha, which a light has not; write its brightness instead")
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    if len(digits) != 6:
        raise ColourError(text, "is no colour; expected # and three or six hex digits")
    return int(digits[0:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)


def _parse_function(text: str, name: str, inside: str) -> Colour:
    # rgba() and hsla() are other names of rgb() and hsl() (CSS Color 4 §5, §7).
    convert = _FUNCTIONS.get({"rgba": "rgb", "hsla": "hsl"}.get(name, name))
    if convert is None:
        known = ", ".join(f"{each}()" for each in _FUNCTIONS)
        raise ColourError(text, f"is no colour; {name}() is none of {known}")
    return convert(text, _arguments(text, name, inside))


def _arguments(text: str, name: str, inside: str) -> list[_Value]:
    legacy = "," in inside
    words = [word.strip() for word in inside.split(",")] if legacy else inside.split()
    if name == "color" and words and not legacy:
        if words[0] not in SPACES:
            raise ColourError(text, f"is in no space known here; known are {', '.join(SPACES)}")
        words = words[1:]
    if "/" in inside or (legacy and len(words) == 4):
        raise ColourError(text, "has an alpha, which a light has not; write its brightness instead")
    if len(words) != 3 or (legacy and name.removesuffix("a") not in {"rgb", "hsl"}):
        raise ColourError(text, f"is no colour; expected {_FORMS[name.removesuffix('a')]}")
    values = [_value(text, word, legacy=legacy) for word in words]
    if legacy:
        _check_legacy(text, name, values)
    return values


def _check_legacy(text: str, name: str, values: Sequence[_Value]) -> None:
    """With commas all are of one kind, and hsl() has percentages (CSS Color 4 §5.1, §7.1)."""
    units = [unit for _, unit in values]
    mixed = len(set(units)) > 1 if name.startswith("rgb") else units[1:] != ["%", "%"]
    if mixed:
        raise ColourError(text, f"is no colour; expected {_FORMS[name.removesuffix('a')]}")


def _value(text: str, word: str, *, legacy: bool) -> _Value:
    if word == "none" and not legacy:  # a missing component counts as nought (§4.4)
        return 0.0, "none"
    found = _NUMBER.fullmatch(word)
    if found is None:
        raise ColourError(text, f"is no colour; '{word}' is no number; {_EXPECTED}")
    return float(found[1]), found[2] or ""


def _rgb(text: str, values: Sequence[_Value]) -> Colour:
    red, green, blue = (_clamped(_scaled(text, value, 255) / 255) for value in values)
    return _eight_bits(red, green, blue)


def _hsl(text: str, values: Sequence[_Value]) -> Colour:
    hue = _turn(text, values[0])
    saturation, lightness = (_clamped(_scaled(text, value, 100) / 100) for value in values[1:])
    return _eight_bits(*colorsys.hls_to_rgb(hue, lightness, saturation))


def _hwb(text: str, values: Sequence[_Value]) -> Colour:
    white, black = (_clamped(_scaled(text, value, 100) / 100) for value in values[1:])
    if white + black >= 1:
        grey = white / (white + black)
        return _eight_bits(grey, grey, grey)
    pure = colorsys.hls_to_rgb(_turn(text, values[0]), 0.5, 1.0)
    red, green, blue = (channel * (1 - white - black) + white for channel in pure)
    return _eight_bits(red, green, blue)


def _lab(text: str, values: Sequence[_Value]) -> Colour:
    lightness = min(100.0, max(0.0, _scaled(text, values[0], 100)))
    return fitted(lab(lightness, *(_scaled(text, each, 125) for each in values[1:])))


def _lch(text: str, values: Sequence[_Value]) -> Colour:
    lightness = min(100.0, max(0.0, _scaled(text, values[0], 100)))
    chroma = max(0.0, _scaled(text, values[1], 150))
    return fitted(polar(lab, lightness, chroma, _turn(text, values[2])))


def _oklab(text: str, values: Sequence[_Value]) -> Colour:
    lightness = _clamped(_scaled(text, values[0], 1))
    return fitted(oklab(lightness, *(_scaled(text, each, 0.4) for each in values[1:])))


def _oklch(text: str, values: Sequence[_Value]) -> Colour:
    lightness, chroma = _clamped(_scaled(text, values[0], 1)), _scaled(text, values[1], 0.4)
    return fitted(polar(oklab, lightness, max(0.0, chroma), _turn(text, values[2])))


def _of_a_space(text: str, values: Sequence[_Value]) -> Colour:
    space = text.strip().lower().removeprefix("color(").split()[0]
    return fitted(SPACES[space](*(_scaled(text, each, 1) for each in values)))


_FORMS: Final = {
    "rgb": "rgb(0 176 96) or rgb(0% 69% 38%)",
    "hsl": "hsl(153 100% 35%)",
    "hwb": "hwb(153 0% 31%)",
    "lab": "lab(63% -55 26)",
    "lch": "lch(63% 61 154)",
    "oklab": "oklab(66% -0.15 0.07)",
    "oklch": "oklch(66% 0.17 154)",
    "color": "color(display-p3 0.3 0.7 0.4)",
}
_FUNCTIONS: Final[dict[str, Callable[[str, Sequence[_Value]], Colour]]] = {
    "rgb": _rgb,
    "hsl": _hsl,
    "hwb": _hwb,
    "lab": _lab,
    "lch": _lch,
    "oklab": _oklab,
    "oklch": _oklch,
    "color": _of_a_space,
}


def _scaled(text: str, value: _Value, full: float) -> float:
    """A number as it is, a percentage of ``full``."""
    number, unit = value
    if unit not in {"", "%", "none"}:
        raise ColourError(text, f"has an angle where a number or a percentage belongs; {_EXPECTED}")
    return number * full / 100 if unit == "%" else number


def _turn(text: str, value: _Value) -> float:
    number, unit = value
    if unit == "%":
        raise ColourError(text, "has a percentage as its hue; expected degrees")
    return number * _ANGLES.get(unit, 1.0) / 360 % 1.0


def _clamped(part: float) -> float:
    return min(1.0, max(0.0, part))


def _eight_bits(red: float, green: float, blue: float) -> Colour:
    return _code(red), _code(green), _code(blue)


def _code(part: float) -> int:
    # The last digits of a binary fraction must not decide which side of a half it falls.
    return math.floor(round(part * 255, 9) + 0.5)
