"""Colours that no strip of three channels has, brought to the nearest of the same hue.

CSS Color 4 §13.2, "CSS gamut mapping to an RGB destination": chroma is taken away in OKLCH until
what clipping still changes cannot be seen.
"""

from __future__ import annotations

import math
from typing import Final

from bridge.scenes.light import Light, coded
from bridge.scenes.oklab import Oklab, from_light, to_light
from bridge.scenes.scene import Colour

#: A just noticeable difference in Oklab, and how exact the search is (§13.2.5).
_SEEN: Final = 0.02
_EXACT: Final = 0.0001
_NOISE: Final = 1e-6


def fitted(light: Light) -> Colour:
    """The 8-bit colour of any light: itself where sRGB has it."""
    lightness, a, b = from_light(*light)
    if _has(light):
        return coded(light)
    if lightness >= 1:
        return 255, 255, 255
    if lightness <= 0:
        return 0, 0, 0
    chroma = math.hypot(a, b)
    a, b = a / chroma, b / chroma
    least, most, clipped = 0.0, chroma, _clipped(light)
    if _apart(clipped, (lightness, a * chroma, b * chroma)) < _SEEN:
        return coded(clipped)
    while most - least > _EXACT:
        middle = (least + most) / 2
        wished: Oklab = lightness, a * middle, b * middle
        found = to_light(wished)
        if _has(found):
            least = middle
            continue
        clipped = _clipped(found)
        if _apart(clipped, wished) < _SEEN:
            least = middle
        else:
            most = middle
    return coded(_clipped(to_light((lightness, a * least, b * least))))


def _has(light: Light) -> bool:
    return all(-_NOISE <= channel <= 1 + _NOISE for channel in light)


def _clipped(light: Light) -> Light:
    red, green, blue = (min(1.0, max(0.0, channel)) for channel in light)
    return red, green, blue


def _apart(light: Light, lab: Oklab) -> float:
    return math.dist(from_light(*light), lab)
