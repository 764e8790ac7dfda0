"""The colour of a hot body: Planck's law seen by the CIE 1931 standard observer."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final, TypeAlias

from bridge.scenes.light import Matrix, applied, coded
from bridge.scenes.scene import Colour

#: Second radiation constant, m·K (CODATA).
_C2: Final = 1.438776877e-2
_NANOMETRES: Final = range(380, 781, 5)

#: Weight, peak, and width below and above the peak, in nm.
_Lobe: TypeAlias = tuple[float, float, float, float]
# Wyman, Sloan, Shirley: Simple Analytic Approximations to the CIE XYZ Color Matching Functions,
# Journal of Computer Graphics Techniques 2(2), 2013, the multi-lobe fit.
_X: Final[tuple[_Lobe, ...]] = (
    (1.056, 599.8, 37.9, 31.0),
    (0.362, 442.0, 16.0, 26.7),
    (-0.065, 501.1, 20.4, 26.2),
)
_Y: Final[tuple[_Lobe, ...]] = ((0.821, 568.8, 46.9, 40.5), (0.286, 530.9, 16.3, 31.1))
_Z: Final[tuple[_Lobe, ...]] = ((1.217, 437.0, 11.8, 36.0), (0.681, 459.0, 26.0, 13.8))

#: CIE XYZ to linear sRGB (CSS Color 4 §10.2).
TO_RGB: Final[Matrix] = (
    (12831 / 3959, -329 / 214, -1974 / 3959),
    (-851781 / 878810, 1648619 / 878810, 36519 / 878810),
    (705 / 12673, -2585 / 12673, 705 / 667),
)


def _response(lobes: tuple[_Lobe, ...], nanometres: float) -> float:
    return sum(
        weight
        * math.exp(-0.5 * ((nanometres - peak) / (below if nanometres < peak else above)) ** 2)
        for weight, peak, below, above in lobes
    )


_OBSERVER: Final = tuple(
    (nm, _response(_X, nm), _response(_Y, nm), _response(_Z, nm)) for nm in _NANOMETRES
)


def black_body(kelvin: float) -> tuple[float, float, float]:
    """CIE XYZ of a black body, up to a common factor."""
    x = y = z = 0.0
    for nm, x_bar, y_bar, z_bar in _OBSERVER:
        # Relative to the middle of the spectrum, so that no temperature under- or overflows.
        power = (560 / nm) ** 5 / math.expm1(_C2 / (nm * 1e-9 * kelvin))
        x += power * x_bar
        y += power * y_bar
        z += power * z_bar
    return x, y, z


@lru_cache(64)
def kelvin_to_colour(kelvin: float) -> Colour:
    """The brightest 8-bit colour of that temperature; what lies outside sRGB is clipped."""
    red, green, blue = applied(TO_RGB, black_body(kelvin))
    most = max(red, green, blue)
    return coded((red / most, green / most, blue / most))
