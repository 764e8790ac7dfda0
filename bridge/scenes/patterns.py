"""What tells looks apart without their colours: the whole rule, as one table.

Two looks are told apart whatever their colours where they have no pattern in common. A pattern is
what moves, how fast, and which pixels are lit. A bar is told from all else while it fills; but full
and empty, minutes long each, it is a plain light, and so it can be taken for one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, TypeAlias

from bridge.scenes.light import dimmed
from bridge.scenes.parts import LEAST_PIXELS
from bridge.scenes.scene import BLACK, Colour, Scene

#: Whose colour it is that shows.
Of: TypeAlias = Literal["colour", "background"]

#: By effect, what is seen of it one time or another: the pattern, and whose colour is in it. Of a
#: flash its brighter half is looked at. ``{pattern}`` and ``{rate}`` are the scene's.
FACES: Final[dict[str, tuple[tuple[str, Of], ...]]] = {
    "steady": (("{pattern}", "colour"),),
    "flash": (("{rate} flash, {pattern}", "colour"),),
    # Full, empty, and of an input that is not known.
    "gauge": (("whole", "colour"), ("whole", "background"), ("every-third", "colour")),
}
#: Any other effect is a pattern of its own.
_OTHER: Final[tuple[tuple[str, Of], ...]] = (("{effect}, {pattern}", "colour"),)
#: Dark against lit is one too: nothing of it has a colour.
DARK: Final = "dark"


@dataclass(frozen=True, slots=True)
class Face:
    """One thing that a look can be seen as: its pattern, and the colour in it as it is sent."""

    pattern: str
    colour: Colour
    of: Of = "colour"


@lru_cache(1 << 14)
def faces(scene: Scene, pixels: int, brightness: float = 1.0) -> tuple[Face, ...]:
    """What it is seen as on so many pixels, dimmed to that much of itself, at 8 bits."""
    return tuple(dict.fromkeys(_faces(scene, pixels, scene.brightness * brightness)))


def _faces(scene: Scene, pixels: int, brightness: float) -> Iterator[Face]:
    extent = scene.pattern if pixels >= LEAST_PIXELS else "whole"
    for words, of in FACES.get(scene.effect, _OTHER):
        colour = dimmed(scene.colour if of == "colour" else scene.background, brightness)
        if colour == BLACK:
            yield Face(DARK, BLACK, of)
        else:
            pattern = words.format(effect=scene.effect, rate=scene.rate, pattern=extent)
            yield Face(pattern, colour, of)
