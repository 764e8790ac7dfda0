"""The power cap: what looks draw, and how far they are dimmed so that a supply bears them.

Currents are microamperes. A look counts with its brightest frame, over its whole period and
whatever its inputs become, so that the cap changes with decisions and never pumps in step with a
flash. It limits what the bridge decides; it is no fuse.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from bridge.lights.dialect.grammar import NativeEffect
from bridge.lights.look import Look, Moving, Native, Still

#: Scales are so many sixteenths; none is ever dimmed to nothing.
FULL: Final = 16
#: The three channels of a pixel, each at its fullest code.
WHITE: Final = 3 * 255


def drive_of(look: Look | None, pixels: int, native: NativeEffect | None = None) -> int:
    """The sum of all channel codes of a look's brightest frame; ``None``: anything."""
    match look:
        case None:
            return WHITE * pixels
        case Still(frame):
            return sum(frame)
        case Moving(frames):
            return max(map(sum, frames))
        case Native():
            is_full = look.effect == "flash" and (native is None or native.worst == "full")
            each = WHITE if is_full and look.lit else sum(look.colour)
            return _up(each * look.level) * pixels


def _up(number: float) -> int:
    return int(number) + (number > int(number))


def current_ua(drive: int, channel_ua: int) -> int:
    """What a drive draws; a channel at its fullest code draws ``channel_ua``."""
    return -(-drive * channel_ua // 255)


@lru_cache(FULL)
def _table(sixteenths: int) -> bytes:
    """Every code dimmed; one that is lit stays lit."""
    return bytes(max(min(code, 1), code * sixteenths // FULL) for code in range(256))


def dimmed(look: Look, sixteenths: int) -> Look:
    """The look at so many sixteenths of its drive."""
    if sixteenths >= FULL:
        return look
    match look:
        case Native():
            return replace(look, level=look.level * sixteenths / FULL)
        case Still(frame):
            return replace(look, frame=frame.translate(_table(sixteenths)))
        case Moving(frames):
            return replace(look, frames=tuple(f.translate(_table(sixteenths)) for f in frames))


def dimmed_drive(drive: int, pixels: int, sixteenths: int) -> int:
    """The most that a look of this drive drives once dimmed: no lit channel goes out."""
    if sixteenths >= FULL:
        return drive
    return min(drive, -(-drive * sixteenths // FULL) + 3 * pixels)


@dataclass(frozen=True, slots=True)
class Load:
    """What one segment wants of a supply. Higher ``rank`` is dimmed later."""

    segment: str
    pixels: int
    drive: int
    channel_ua: int
    rank: tuple[bool, int] = (False, 0)

    def ua(self, sixteenths: int) -> int:
        """What it draws when it is dimmed so far."""
        return current_ua(dimmed_drive(self.drive, self.pixels, sixteenths), self.channel_ua)


@dataclass(frozen=True, slots=True)
class Shares:
    """How far each segment is dimmed, and by how much that is still too much (0: it is not)."""

    sixteenths: Mapping[str, int]
    over_ua: int = 0


def shares(loads: Sequence[Load], available_ua: int) -> Shares:
    """The mildest are dimmed first, all of one rank alike, and only as far as is needed."""
    scales = dict.fromkeys((load.segment for load in loads), FULL)
    ranks = sorted({load.rank for load in loads})
    for rank in ranks:
        total = _total(loads, scales)
        if total <= available_ua:
            return Shares(scales)
        group = [load for load in loads if load.rank == rank]
        rest = total - sum(load.ua(FULL) for load in group)
        fitting = (n for n in range(FULL - 1, 0, -1) if rest + _sum(group, n) <= available_ua)
        scale = next(fitting, 1)
        scales.update(dict.fromkeys((load.segment for load in group), scale))
    return Shares(scales, max(0, _total(loads, scales) - available_ua))


def _sum(loads: Iterable[Load], sixteenths: int) -> int:
    return sum(load.ua(sixteenths) for load in loads)


def _total(loads: Iterable[Load], scales: Mapping[str, int]) -> int:
    return sum(load.ua(scales[load.segment]) for load in loads)
