"""Light and its 8-bit code: the sRGB transfer function and what follows from it.

Constants of IEC 61966-2-1, matrix of CSS Color 4 §10.2. Strips are not screens: the arithmetic is
what a controller with a gamma table approximates, and the nearest published thing to it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from functools import lru_cache
from typing import Final, TypeAlias

from bridge.scenes.scene import Colour

#: Linear red, green and blue, 0..1; outside that where sRGB has no such colour.
Light: TypeAlias = tuple[float, float, float]
#: What becomes of three parts: a row for each of three others.
Matrix: TypeAlias = tuple[Light, Light, Light]


def to_linear(code: float) -> float:
    """Light 0..1 of an sRGB code 0..1 (IEC 61966-2-1)."""
    return code / 12.92 if code <= 0.04045 else ((code + 0.055) / 1.055) ** 2.4


def from_linear(light: float) -> float:
    """The sRGB code 0..1 of light 0..1, the inverse of ``to_linear``."""
    return light * 12.92 if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055


#: Light of each 8-bit code.
LIGHT: Final = tuple(to_linear(code / 255) for code in range(256))
#: Where one 8-bit code ends and the next begins.
_BORDERS: Final = tuple(to_linear((code + 0.5) / 255) for code in range(255))


def code_of(light: float) -> int:
    """The nearest 8-bit code of light 0..1."""
    return bisect_right(_BORDERS, light)


def coded(light: Light) -> Colour:
    """The nearest 8-bit colour; what lies outside is clipped, as no screen shows more or less."""
    red, green, blue = light
    return code_of(red), code_of(green), code_of(blue)


def light_of(colour: Colour) -> Light:
    """The light of an 8-bit colour."""
    red, green, blue = colour
    return LIGHT[red], LIGHT[green], LIGHT[blue]


def applied(matrix: Matrix, parts: Sequence[float]) -> Light:
    """Three parts turned into others."""
    (a, b, c), (d, e, f), (g, h, i) = matrix
    one, two, three = parts
    return (
        a * one + b * two + c * three,
        d * one + e * two + f * three,
        g * one + h * two + i * three,
    )


def mix(one: Colour, other: Colour, share: float) -> Colour:
    """``share`` of the light of ``one``, the rest of ``other``.

    In light, not in code values: half of 255 in code is a fifth of the light, and the end of a
    gauge would seem to stand still and then leap.
    """
    rest = 1.0 - share
    red, green, blue = (
        code_of(share * LIGHT[a] + rest * LIGHT[b]) for a, b in zip(one, other, strict=True)
    )
    return red, green, blue


@lru_cache(4096)
def dimmed(colour: Colour, brightness: float) -> Colour:
    """The colour at a drive level 0..1: each code value times it, a half upwards."""
    red, green, blue = colour
    return (
        int(red * brightness + 0.5),
        int(green * brightness + 0.5),
        int(blue * brightness + 0.5),
    )
