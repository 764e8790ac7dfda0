"""A scene as pixels: pure, the same for preview, page and strip.

Frames are bytes made by repetition and slices, faster than numpy at every size of a segment.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from bridge.facts.values import FactValue
from bridge.scenes.light import dimmed, mix
from bridge.scenes.scene import BLACK, PERIOD_MS, Colour, Scene

#: Every-third lights the first of three pixels.
_EVERY: Final = 3
#: What a gauge of one pixel shows of an unknown input, before its brightness.
_GREY: Final[Colour] = (85, 85, 85)


def frame(scene: Scene, pixels: int, milliseconds: int, inputs: Mapping[str, FactValue]) -> bytes:
    """The pixels of a segment that long after the scene began: 3 bytes each, red, green, blue.

    ``inputs`` are the facts that a gauge shows. Brightness is in the bytes.
    """
    if scene.effect == "gauge":
        return _gauge(scene, pixels, inputs.get(scene.source))
    brightness = scene.brightness
    if scene.effect == "flash" and _second_half(scene, milliseconds):
        brightness *= scene.dimmer
    colour = bytes(dimmed(scene.colour, brightness))
    if scene.pattern == "every-third":
        return _every_third(colour, pixels)
    return colour * pixels


def _second_half(scene: Scene, milliseconds: int) -> bool:
    """The dimmer half: on-time and off-time are alike (IEC 60073)."""
    period = PERIOD_MS[scene.rate]
    return milliseconds % period * 2 >= period


def _every_third(colour: bytes, pixels: int) -> bytes:
    """The first pixel is lit, so that a single pixel is not dark."""
    group = colour + bytes(3 * (_EVERY - 1))
    return (group * (pixels // _EVERY + 1))[: 3 * pixels]


def _gauge(scene: Scene, pixels: int, value: FactValue | None) -> bytes:
    share = _share(value)
    if share is None:
        forward = _unknown(scene, pixels)
    else:
        colour = dimmed(scene.colour, scene.brightness)
        forward = _filled(colour, dimmed(scene.background, scene.brightness), pixels, share)
    return forward if scene.direction == "forward" else _reversed(forward)


def _share(value: FactValue | None) -> float | None:
    """A proportion 0..1; anything else is unknown, never clamped."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if 0 <= value <= 1 else None


@lru_cache(256)
def _filled(colour: Colour, background: Colour, pixels: int, share: float) -> bytes:
    lit = share * pixels
    whole = int(lit)
    if whole == pixels:
        return bytes(colour) * pixels
    edge = mix(colour, background, lit - whole)
    return bytes(colour) * whole + bytes(edge) + bytes(background) * (pixels - whole - 1)


def _unknown(scene: Scene, pixels: int) -> bytes:
    """What no proportion shows: of every three pixels the second, the first of all being dark.

    Where only the background is lit it is the first of three, since there a proportion begins
    dark. A single pixel has no pattern; it is grey, which is a proportion only of a grey gauge.
    """
    if pixels == 1:
        return bytes(dimmed(_GREY, scene.brightness))
    colour = bytes(dimmed(scene.colour, scene.brightness))
    if not any(colour):
        return _every_third(bytes(dimmed(scene.background, scene.brightness)), pixels)
    return (bytes(BLACK) + _every_third(colour, pixels))[: 3 * pixels]


def _reversed(forward: bytes) -> bytes:
    backward = bytearray(len(forward))
    for channel in range(3):
        backward[channel::3] = forward[channel::3][::-1]
    return bytes(backward)
