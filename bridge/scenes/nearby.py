"""Colours near another one and of its hue, the nearest first.

Near is by Oklab: its hue stays put when lightness and chroma change, which CIELAB's does not in the
blue.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import product
from typing import Final, TypeAlias

from bridge.scenes.light import coded
from bridge.scenes.oklab import oklab_of
from bridge.scenes.scene import Colour
from bridge.scenes.spaces import oklab, polar

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
    lightness, a, b = oklab_of(colour)
    return lightness, math.hypot(a, b), math.degrees(math.atan2(b, a))


def _colour(lch: _Lch) -> Colour | None:
    """The colour at 8 bits; ``None`` where a screen has it not."""
    lightness, chroma, hue = lch
    if not 0 < lightness <= 1 or chroma < 0:
        return None
    light = polar(oklab, lightness, chroma, hue / 360)
    return coded(light) if min(light) >= -_EDGE and max(light) <= 1 + _EDGE else None
