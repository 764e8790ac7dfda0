"""A colour as another eye sees it: three kinds of colour blindness, and no colours at all.

Machado, Oliveira, Fernandes: A Physiologically-based Model for Simulation of Color Vision
Deficiency, IEEE TVCG 15(6), 2009, at severity 1.0, on linear RGB. It is a screen's colours that are
converted, so of a strip, whose primaries are purer, it tells only about.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final, Literal, TypeAlias

from bridge.scenes.light import Light, Matrix, applied, coded, light_of
from bridge.scenes.scene import Colour

Sight: TypeAlias = Literal["normal", "protanopia", "deuteranopia", "tritanopia", "greyscale"]

#: Relative luminance (IEC 61966-2-1).
_LUMINANCE: Final[Light] = (0.2126, 0.7152, 0.0722)
#: Without red, green and blue cones: what is seen of each channel of light.
DICHROMACIES: Final[dict[Sight, Matrix]] = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
_MATRICES: Final = {**DICHROMACIES, "greyscale": (_LUMINANCE, _LUMINANCE, _LUMINANCE)}


@lru_cache(4096)
def seen(colour: Colour, sight: Sight) -> Colour:
    """The colour that looks to a normal eye as this one looks to that sight."""
    if sight == "normal":
        return colour
    return coded(applied(_MATRICES[sight], light_of(colour)))
