"""The power cap: what looks draw, and how far they are dimmed so that a supply bears them.

Currents are microamperes; a drive is a sum of channel codes 0..255. A look counts with its
brightest frame, over its whole period and as its controller's own numbers round it, so that the
cap changes with decisions and never pumps in step with a flash. It limits what the bridge decides;
it is no fuse.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate
from typing import Final, TypeAlias

from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Look, Moving, Native, Still

#: Scales are so many sixteenths; none is ever dimmed to nothing.
FULL: Final = 16
#: A channel at its fullest code.
CODE: Final = 255
#: A drive at each of the sixteenths, from the first.
Drives: TypeAlias = tuple[int, ...]
#: Looks repeat: a segment has a handful of them.
_LOOKS_KEPT: Final = 1024


def worst_drive(pixels: int, dialect: Dialect) -> int:
    """What pixels can be driven to by anybody."""
    return dialect.channels * CODE * pixels


@lru_cache(_LOOKS_KEPT)
def drive_of(look: Look, pixels: int, dialect: Dialect) -> int:
    """The sum of all channel codes of a look's brightest frame."""
    match look:
        case Still(frame):
            return sum(frame)
        case Moving(frames):
            return max(map(sum, frames))
        case Native():
            colour, level = dialect.comes_out(look)
            each = sum(colour)
            native = dialect.can(look.effect, look.rate)
            if look.lit and look.effect == "flash" and (native is None or native.worst == "full"):
                each = dialect.channels * CODE
            return _up(each * level) * pixels


def drive_as_read(seen: Mapping[str, object], pixels: int, dialect: Dialect) -> int:
    """What somebody else's look drives, by what was read of it; the worst where that is unclear."""
    values = dialect.decode(seen)
    colour, level, frame = values.get("colour"), values.get("level", 1.0), values.get("frame")
    if values.get("on") is False or level == 0:
        return 0
    if isinstance(colour, tuple) and isinstance(level, float) and values.get("effect") == "steady":
        return _up(sum(colour) * level) * pixels
    return sum(frame) if isinstance(frame, bytes) else worst_drive(pixels, dialect)


def _up(number: float) -> int:
    return int(number) + (number > int(number))


def current_ua(drive: int, channel_ua: int) -> int:
    """What a drive draws; a channel at its fullest code draws ``channel_ua``."""
    return -(-drive * channel_ua // CODE)


def dimmed(look: Look, sixteenths: int) -> Look:
    """The look at so many sixteenths of its drive; a painted channel that is lit stays lit."""
    if sixteenths >= FULL:
        return look
    match look:
        case Native():
            return replace(look, level=look.level * sixteenths / FULL)
        case Still(frame):
            return replace(look, frame=frame.translate(_table(sixteenths)))
        case Moving(frames):
            return replace(look, frames=tuple(f.translate(_table(sixteenths)) for f in frames))


@lru_cache(FULL)
def _table(sixteenths: int) -> bytes:
    return bytes(max(min(code, 1), code * sixteenths // FULL) for code in range(CODE + 1))


@lru_cache(_LOOKS_KEPT)
def drives_of(look: Look, pixels: int, dialect: Dialect) -> Drives:
    """What it drives at each of the sixteenths; never more when it is dimmed further."""
    scales = range(1, FULL + 1)
    return tuple(accumulate((drive_of(dimmed(look, n), pixels, dialect) for n in scales), max))


@lru_cache(_LOOKS_KEPT)
def least_of(look: Look, dialect: Dialect) -> int:
    """The fewest sixteenths at which a lit look is told so that it is not black at 8 bits."""
    if not isinstance(look, Native) or not _is_seen(look, dialect):
        return 1
    return next(n for n in range(1, FULL + 1) if _is_seen(dimmed(look, n), dialect))


def _is_seen(look: Look, dialect: Dialect) -> bool:
    if not isinstance(look, Native):
        return True
    colour, level = dialect.comes_out(look)
    return max(colour) * level >= 0.5


@dataclass(frozen=True, slots=True)
class Load:
    """What one segment wants of a supply. Higher ``rank`` is dimmed later.

    ``drives``: at each of the sixteenths; ``least``: the fewest of them at which it is not black.
    """

    segment: str
    drives: Drives
    channel_ua: int
    rank: tuple[bool, int] = (False, 0)
    least: int = 1

    def scale(self, sixteenths: int) -> int:
        """How far it is dimmed where its rank is dimmed so far."""
        return max(self.least, sixteenths)

    def ua(self, sixteenths: int) -> int:
        """What it draws then."""
        return current_ua(self.drives[self.scale(sixteenths) - 1], self.channel_ua)


@dataclass(frozen=True, slots=True)
class Shares:
    """How far each segment is dimmed, and by how much that is still too much (0: it is not)."""

    sixteenths: Mapping[str, int]
    over_ua: int = 0


def shares(loads: Sequence[Load], available_ua: int) -> Shares:
    """The mildest are dimmed first, all of one rank alike, and only as far as is needed."""
    scales = dict.fromkeys((load.rank for load in loads), FULL)
    total = sum(load.ua(FULL) for load in loads)
    for rank in sorted(scales):
        if total <= available_ua:
            break
        group = [load for load in loads if load.rank == rank]
        rest = total - _sum(group, FULL)
        fitting = (n for n in range(FULL - 1, 0, -1) if rest + _sum(group, n) <= available_ua)
        scales[rank] = next(fitting, 1)
        total = rest + _sum(group, scales[rank])
    found = {load.segment: load.scale(scales[load.rank]) for load in loads}
    return Shares(found, max(0, total - available_ua))


def _sum(loads: Iterable[Load], sixteenths: int) -> int:
    return sum(load.ua(sixteenths) for load in loads)
