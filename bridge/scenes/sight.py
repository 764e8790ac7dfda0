"""What colours look like to eyes that lack one of the three kinds of cone.

Machado, Oliveira, Fernandes: A Physiologically-based Model for Simulation of Color Vision
Deficiency, IEEE Transactions on Visualization and Computer Graphics 15(6), 2009, at severity 1.0,
on linear RGB. Who sees that colour but weakly lies between normal sight and these.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final, Literal, TypeAlias

from bridge.scenes.difference import Lab, Light, lab_of
from bridge.scenes.light import LIGHT
from bridge.scenes.scene import Colour

Sight: TypeAlias = Literal["normal sight", "protanopia", "deuteranopia", "tritanopia"]
_Matrix: TypeAlias = tuple[Light, Light, Light]

#: In the order in which ``seen`` has them.
SIGHTS: Final[tuple[Sight, ...]] = ("normal sight", "protanopia", "deuteranopia", "tritanopia")
#: Without red, green and blue cones: what is seen of each channel of light.
DICHROMACIES: Final[dict[Sight, _Matrix]] = {
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


def simulated(light: Light, sight: Sight) -> Light:
    """The light that looks to normal sight as this does to that one.

    It may lie outside what a screen has, and is not clipped: nobody has to show it.
    """
    if sight not in DICHROMACIES:
        return light
    red, green, blue = light
    long, middle, short = DICHROMACIES[sight]
    return (
        long[0] * red + long[1] * green + long[2] * blue,
        middle[0] * red + middle[1] * green + middle[2] * blue,
        short[0] * red + short[1] * green + short[2] * blue,
    )


@lru_cache(1 << 16)
def seen(colour: Colour) -> tuple[Lab, ...]:
    """A colour as each of the ``SIGHTS`` has it."""
    red, green, blue = colour
    light = (LIGHT[red], LIGHT[green], LIGHT[blue])
    return tuple(lab_of(simulated(light, sight)) for sight in SIGHTS)
