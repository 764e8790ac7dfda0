"""Colours as eyes have them that lack one of the three kinds of cone, to be told apart there.

The matrices are those of ``sight``. Who sees a colour but weakly lies between normal sight and
these.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from bridge.scenes.difference import Lab, lab_of
from bridge.scenes.light import Light, applied, light_of
from bridge.scenes.scene import Colour
from bridge.scenes.sight import DICHROMACIES, Sight

#: In the order in which ``labs_of`` has them.
SIGHTS: Final[tuple[Sight, ...]] = ("normal", "protanopia", "deuteranopia", "tritanopia")


def simulated(light: Light, sight: Sight) -> Light:
    """The light that looks to normal sight as this does to that one.

    It may lie outside what a screen has, and is not clipped: nobody has to show it.
    """
    if sight not in DICHROMACIES:
        return light
    return applied(DICHROMACIES[sight], light)


@lru_cache(1 << 16)
def labs_of(colour: Colour) -> tuple[Lab, ...]:
    """A colour as each of the ``SIGHTS`` has it."""
    light = light_of(colour)
    return tuple(lab_of(simulated(light, sight)) for sight in SIGHTS)
