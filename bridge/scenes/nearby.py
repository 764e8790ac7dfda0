"""Colours near another one and of its hue, the nearest first.

Near is by Oklab (B. Ottosson, *A perceptual color space for image processing*, 2020; matrices as in
CSS Color 4 §10.2): its hue stays put when lightness and chroma change, which CIELAB's does not in
the blue.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import product
from typing import Final, TypeAlias

from bridge.scenes.light import LIGHT, code_of
from bridge.scenes.scene import Colour

#: Steps from a colour; a hue that is further off would have another name.
_LIGHTER: Final = (0.0, 0.03, 0.06, 0.1, 0.14, 0.19, 0.25, 0.32)
_STRONGER: Final = (0.0, 0.04, 0.08)
_TURNED: Final = (0.0, 8.0, 16.0)
#: What has less chroma is a white, and stays one: it has no hue to keep.
_WHITE: Final = 0.04
#: What rounding to 8 bits makes of the edge of what can be shown.
_EDGE: Final = 0.5 / 255 / 12.92
#: Lightness, chroma, and hue in degrees.
_Lch: TypeAlias = tuple[float, float, float]


def nearby(colour: Colour) -> Iterator[Colour]:
    """Colours of the same hue, the nearest first, itself left out; a white's are whites."""
    lightness, chroma, hue = _lch(colour)
    known = {colour}
    for lighter, stronger, turned in _steps(chroma):
        near = _colour((lightness + lighter, chroma + stronger, hue + turned))
        if near is not None and near not in known:
            known.add(near)
            yield near


def _steps(chroma: float) -> list[_Lch]:
    """The steps in lightness, chroma and hue, the shortest first."""
    is_white = chroma < _WHITE
    stronger = (0.0,) if is_white else _both(_STRONGER)
    turned = (0.0,) if is_white else _both(_TURNED)

    def length(step: _Lch) -> float:
        lighter, more, degrees = step
        between = math.sqrt(chroma * max(0.0, chroma + more))
        return math.hypot(lighter, more, 2 * between * math.sin(math.radians(degrees / 2)))

    return sorted(product(_both(_LIGHTER), stronger, turned), key=length)


def _both(steps: tuple[float, ...]) -> tuple[float, ...]:
    return (*steps, *(-step for step in steps if step))


def _lch(colour: Colour) -> _Lch:
    red, green, blue = (LIGHT[code] for code in colour)
    long = math.cbrt(0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue)
    middle = math.cbrt(0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue)
    short = math.cbrt(0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue)
    lightness = 0.2104542553 * long + 0.7936177850 * middle - 0.0040720468 * short
    a = 1.9779984951 * long - 2.4285922050 * middle + 0.4505937099 * short
    b = 0.0259040371 * long + 0.7827717662 * middle - 0.8086757660 * short
    return lightness, math.hypot(a, b), math.degrees(math.atan2(b, a))


def _colour(lch: _Lch) -> Colour | None:
    """The colour at 8 bits; ``None`` where a screen has it not."""
    lightness, chroma, hue = lch
    if not 0 < lightness <= 1 or chroma < 0:
        return None
    a, b = chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    middle = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    red = 4.0767416621 * long - 3.3077115913 * middle + 0.2309699292 * short
    green = -1.2684380046 * long + 2.6097574011 * middle - 0.3413193965 * short
    blue = -0.0041960863 * long - 0.7034186147 * middle + 1.7076147010 * short
    if min(red, green, blue) < -_EDGE or max(red, green, blue) > 1 + _EDGE:
        return None
    return code_of(red), code_of(green), code_of(blue)
