"""How far apart two colours are to the eye: CIELAB under D65, and the difference CIEDE2000.

Strips are not screens and their primaries lie outside sRGB: what is said of sRGB is near to what a
strip looks like, and the nearest published thing to it.
"""

from __future__ import annotations

import math
from typing import Final, TypeAlias

from bridge.scenes.light import Light

#: Lightness 0..100, and the two axes green to red and blue to yellow (CIE 15).
Lab: TypeAlias = tuple[float, float, float]

#: D65 at x 0.3127, y 0.3290.
_WHITE_X: Final = 0.3127 / 0.3290
_WHITE_Z: Final = (1 - 0.3127 - 0.3290) / 0.3290
# Linear sRGB to CIE XYZ (CSS Color 4 §10.2), as shares of that white.
_X: Final = (506752 / 1228815 / _WHITE_X, 87881 / 245763 / _WHITE_X, 12673 / 70218 / _WHITE_X)
_Y: Final = (87098 / 409605, 175762 / 245763, 12673 / 175545)
_Z: Final = (7918 / 409605 / _WHITE_Z, 87881 / 737289 / _WHITE_Z, 1001167 / 1053270 / _WHITE_Z)
_EDGE: Final = (6 / 29) ** 3
_25_TO_7: Final = 25.0**7
_DEGREE: Final = math.pi / 180
#: What a difference in lightness is divided by in CIEDE2000 is never more, so that one of so many
#: times a distance in lightness alone is at least that distance.
MOST_LIGHTNESS_WEIGHT: Final = 1 + 0.015 * 2500 / math.sqrt(2520)


def lab_of(light: Light) -> Lab:
    """The CIELAB colour of light."""
    red, green, blue = light
    x = _root(_X[0] * red + _X[1] * green + _X[2] * blue)
    y = _root(_Y[0] * red + _Y[1] * green + _Y[2] * blue)
    z = _root(_Z[0] * red + _Z[1] * green + _Z[2] * blue)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _root(share: float) -> float:
    return share ** (1 / 3) if share > _EDGE else share * (841 / 108) + 4 / 29


def difference(one: Lab, other: Lab) -> float:
    """CIEDE2000 with all weights 1, as Sharma, Wu and Dalal (2005) number its steps."""
    lightness, chroma, hue, turn = _parts(one, other)
    # The rotation pulls a difference in chroma and one in hue together in the blue.
    return math.sqrt(lightness**2 + chroma**2 + hue**2 + turn * chroma * hue)


def _parts(one: Lab, other: Lab) -> tuple[float, float, float, float]:
    (light1, a1, b1), (light2, a2, b2) = one, other
    mean7 = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) ** 7
    stretch = 1.5 - 0.5 * math.sqrt(mean7 / (mean7 + _25_TO_7))  # (4), (5)
    chroma1, chroma2 = math.hypot(stretch * a1, b1), math.hypot(stretch * a2, b2)
    hue1 = math.atan2(b1, stretch * a1) / _DEGREE % 360
    hue2 = math.atan2(b2, stretch * a2) / _DEGREE % 360
    step, mean_hue = _hues(hue1, hue2, is_grey=chroma1 * chroma2 == 0)
    mean_light, mean_chroma = (light1 + light2) / 2, (chroma1 + chroma2) / 2
    from_middle = (mean_light - 50) ** 2
    by_light = 1 + 0.015 * from_middle / math.sqrt(20 + from_middle)  # (16)
    by_chroma = 1 + 0.045 * mean_chroma  # (17)
    by_hue = 1 + 0.015 * mean_chroma * _hue_weight(mean_hue)  # (18)
    mean7 = mean_chroma**7
    rotation = 30 * math.exp(-(((mean_hue - 275) / 25) ** 2))  # (14)
    turn = -2 * math.sqrt(mean7 / (mean7 + _25_TO_7)) * math.sin(2 * rotation * _DEGREE)
    across = 2 * math.sqrt(chroma1 * chroma2) * math.sin(step / 2 * _DEGREE)  # (11)
    return (
        (light2 - light1) / by_light,
        (chroma2 - chroma1) / by_chroma,
        across / by_hue,
        turn,
    )


def _hues(hue1: float, hue2: float, *, is_grey: bool) -> tuple[float, float]:
    """The step from one to the other the short way round (10), and their mean (14), in degrees."""
    if is_grey:
        return 0.0, hue1 + hue2
    step = hue2 - hue1
    if abs(step) <= 180:
        return step, (hue1 + hue2) / 2
    both = hue1 + hue2
    return step - math.copysign(360, step), (both + 360 if both < 360 else both - 360) / 2


def _hue_weight(degrees: float) -> float:
    hue = degrees * _DEGREE  # (15)
    return (
        1
        - 0.17 * math.cos(hue - 30 * _DEGREE)
        + 0.24 * math.cos(2 * hue)
        + 0.32 * math.cos(3 * hue + 6 * _DEGREE)
        - 0.20 * math.cos(4 * hue - 63 * _DEGREE)
    )
