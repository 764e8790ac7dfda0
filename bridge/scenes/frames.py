"""A scene as pixels: pure, the same for preview, page and strip.

Frames are bytes made by repetition and slices, faster than numpy at every size of a segment.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from bridge.facts.values import FactValue
from bridge.scenes.light import dimmed, mix
from bridge.scenes.oklab import between
from bridge.scenes.scene import BLACK, CALM_MS, PERIOD_MS, Colour, Scene

#: Every-third lights the first of three pixels.
_EVERY: Final = 3
#: What a gauge of one pixel shows of an unknown input, before its brightness.
_GREY: Final[Colour] = (85, 85, 85)
LEAST_MARCH: Final = 3
#: How much of a segment marches.
_BLOCK: Final = 0.25
#: How light a tick is where a gauge is not filled: so far from its background to its colour.
_FAINT: Final = 0.4
_SWELL_STEPS: Final = 120
_WAVE: Final = tuple(
    (1 + math.cos(2 * math.pi * step / _SWELL_STEPS)) / 2 for step in range(_SWELL_STEPS)
)


def frame(scene: Scene, pixels: int, milliseconds: int, inputs: Mapping[str, FactValue]) -> bytes:
    """The pixels of a segment that long after the scene began: 3 bytes each, red, green, blue.

    ``inputs`` are the facts that a gauge shows. Brightness is in the bytes.
    """
    if scene.effect == "gauge":
        return _gauge(scene, pixels, inputs.get(scene.source))
    if scene.effect == "march":
        return _march(scene, pixels, milliseconds)
    if scene.effect == "swell":
        colour = bytes(_swelling(scene, milliseconds))
        return _every_third(colour, pixels) if scene.pattern == "every-third" else colour * pixels
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


def _swelling(scene: Scene, milliseconds: int) -> Colour:
    """Full at first, then down and up: a wave in what the eye takes for brightness."""
    full = dimmed(scene.colour, scene.brightness)
    # In whole steps, so that they are few enough to be remembered.
    return between(dimmed(scene.colour, scene.brightness * scene.dimmer), full, _wave(milliseconds))


def _wave(milliseconds: int) -> float:
    return _WAVE[milliseconds % CALM_MS * _SWELL_STEPS // CALM_MS]


def _march(scene: Scene, pixels: int, milliseconds: int) -> bytes:
    """A block of a quarter of the pixels that goes along them and begins anew.

    It begins in the middle: one that had to stand still would else be taken for a gauge. Fewer
    than three pixels have no room to go, and swell.
    """
    colour, background = (
        dimmed(each, scene.brightness) for each in (scene.colour, scene.background)
    )
    if pixels < LEAST_MARCH:
        return bytes(between(background, colour, _wave(milliseconds))) * pixels
    length = max(1.0, pixels * _BLOCK)
    first = (pixels - length) / 2 + milliseconds % CALM_MS / CALM_MS * pixels
    forward = _block(colour, background, pixels, first % pixels, length)
    return forward if scene.direction == "forward" else _reversed(forward)


def _block(colour: Colour, background: Colour, pixels: int, first: float, length: float) -> bytes:
    """A block from ``first`` on, in pixels; what leaves at the end comes in at the front."""
    whole = int(first)
    lead = 1.0 - (first - whole)
    full = int(length - lead)
    trail = length - lead - full
    row = bytes(mix(colour, background, lead)) + bytes(colour) * full
    row += bytes(mix(colour, background, trail))
    line = (row + bytes(background) * pixels)[: 3 * pixels]
    begin = 3 * (pixels - whole)
    return line[begin:] + line[:begin]


def _gauge(scene: Scene, pixels: int, value: FactValue | None) -> bytes:
    share = _share(scene, value)
    if share is None:
        forward = _unknown(scene, pixels)
    else:
        colour, background = (
            dimmed(each, scene.brightness) for each in (scene.colour, scene.background)
        )
        forward = _filled(colour, background, pixels, share)
        if scene.ticks > 1:
            forward = _with_ticks(forward, colour, background, scene.ticks)
    return forward if scene.direction == "forward" else _reversed(forward)


def _share(scene: Scene, value: FactValue | None) -> float | None:
    """A proportion 0..1; anything else is unknown, never clamped. A time too long is all of it."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    if scene.source == "time-to-completion":
        return min(1.0, value / scene.full_s) if value >= 0 else None
    return float(value) if 0 <= value <= 1 else None


def _with_ticks(forward: bytes, colour: Colour, background: Colour, ticks: int) -> bytes:
    """A gap in what is filled, a faint light in the rest, at the end of each part but the last."""
    pixels, marked = len(forward) // 3, bytearray(forward)
    faint = bytes(between(background, colour, _FAINT))
    for tick in range(1, ticks):
        at = 3 * (tick * pixels // ticks - 1)
        if at >= 0:
            is_filled = forward[at : at + 3] == bytes(colour)
            marked[at : at + 3] = bytes(background) if is_filled else faint
    return bytes(marked)


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
