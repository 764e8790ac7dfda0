"""Oklab: steps in it look alike to the eye, and a colour that gets darker keeps its hue.

Björn Ottosson, A perceptual color space for image processing, 2020; the matrices for linear sRGB as
published there (corrected 2021-01-25).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TypeAlias

from bridge.scenes.light import Light, coded, light_of
from bridge.scenes.scene import Colour

#: Lightness 0..1, and two opponent axes: green to red, blue to yellow.
Oklab: TypeAlias = tuple[float, float, float]


def from_light(red: float, green: float, blue: float) -> Oklab:
    """Of linear sRGB."""
    long = math.cbrt(0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue)
    middle = math.cbrt(0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue)
    short = math.cbrt(0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue)
    return (
        0.2104542553 * long + 0.7936177850 * middle - 0.0040720468 * short,
        1.9779984951 * long - 2.4285922050 * middle + 0.4505937099 * short,
        0.0259040371 * long + 0.7827717662 * middle - 0.8086757660 * short,
    )


def to_light(lab: Oklab) -> Light:
    """Linear sRGB; outside 0..1 where no screen has that colour."""
    lightness, a, b = lab
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    return (
        4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short,
    )


def oklab_of(colour: Colour) -> Oklab:
    """Of an 8-bit colour."""
    return from_light(*light_of(colour))


@lru_cache(4096)
def between(one: Colour, other: Colour, share: float) -> Colour:
    """So far on the way from ``one`` to ``other``, 0..1, that equal steps look alike."""
    start, end = oklab_of(one), oklab_of(other)
    lightness, a, b = (x + (y - x) * share for x, y in zip(start, end, strict=True))
    return coded(to_light((lightness, a, b)))
