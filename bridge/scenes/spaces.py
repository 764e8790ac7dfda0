"""Colours in the spaces of CSS that reach beyond sRGB, as linear light of its three channels.

CSS Color 4: §9 for Lab, LCH, Oklab and OKLCH, §10 for color(), §18 for the sample code whose
matrices these are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Final

from bridge.scenes.light import Light, Matrix, applied, to_linear
from bridge.scenes.oklab import to_light
from bridge.scenes.temperature import TO_RGB

#: CIE's linear part of the lightness scale (§9.3).
_KAPPA: Final = 24389 / 27
_EPSILON: Final = 216 / 24389
#: The white of print, D50, which lab() and lch() are relative to.
_D50: Final = (0.3457 / 0.3585, 1.0, (1.0 - 0.3457 - 0.3585) / 0.3585)
#: Bradford's adaptation from it to the white of screens, D65.
_TO_D65: Final[Matrix] = (
    (0.9554734527042182, -0.023098536874261423, 0.0632593086610217),
    (-0.028369706963208136, 1.0099954580058226, 0.021041398966943008),
    (0.012314001688319899, -0.020507696433477912, 1.3303659366080753),
)
_P3_TO_XYZ: Final[Matrix] = (
    (608311 / 1250200, 189793 / 714400, 198249 / 1000160),
    (35783 / 156275, 247089 / 357200, 198249 / 2500400),
    (0.0, 32229 / 714400, 5220557 / 5000800),
)


def oklab(lightness: float, a: float, b: float) -> Light:
    """Lightness 0..1."""
    return to_light((lightness, a, b))


def lab(lightness: float, a: float, b: float) -> Light:
    """CIE Lab of D50, lightness 0..100."""
    y = (lightness + 16) / 116
    fractions = (a / 500 + y, y, y - b / 200)
    white = (_from_lab(each) for each in fractions)
    xyz = [part * full for part, full in zip(white, _D50, strict=True)]
    return applied(TO_RGB, applied(_TO_D65, xyz))


def _from_lab(fraction: float) -> float:
    cube = fraction**3
    return cube if cube > _EPSILON else (116 * fraction - 16) / _KAPPA


def polar(
    space: Callable[[float, float, float], Light], lightness: float, chroma: float, turn: float
) -> Light:
    """The same by chroma and hue; ``turn`` 1 is a whole one."""
    angle = 2 * math.pi * turn
    return space(lightness, chroma * math.cos(angle), chroma * math.sin(angle))


def _linear(code: float) -> float:
    """Also of what lies outside 0..1 (§10.2): the curve goes on on the other side."""
    return math.copysign(to_linear(abs(code)), code)


def _srgb(*parts: float) -> Light:
    red, green, blue = (_linear(part) for part in parts)
    return red, green, blue


def _srgb_linear(*parts: float) -> Light:
    red, green, blue = parts
    return red, green, blue


def _display_p3(*parts: float) -> Light:
    return applied(TO_RGB, applied(_P3_TO_XYZ, _srgb(*parts)))


def _xyz(*parts: float) -> Light:
    return applied(TO_RGB, parts)


#: What color() may name.
SPACES: Final[Mapping[str, Callable[..., Light]]] = {
    "srgb": _srgb,
    "srgb-linear": _srgb_linear,
    "display-p3": _display_p3,
    "xyz": _xyz,
    "xyz-d65": _xyz,
}
