"""A segment that several printers share: a part of its pixels each, or a mark that names one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final, TypeAlias

from bridge.facts.values import FactValue
from bridge.scenes.frames import frame
from bridge.scenes.light import dimmed
from bridge.scenes.scene import BLACK, CALM, Colour, Scene

#: Fewer pixels than this cannot hold a pattern, nor a mark's block and the gap after it.
LEAST_PIXELS: Final = 3
#: What shows in one part, and the facts that its gauge reads.
Part: TypeAlias = tuple[Scene, Mapping[str, FactValue]]

#: White says nothing of anybody's condition (neutral, IEC 60073).
_NEUTRAL: Final[Colour] = (255, 255, 255)
#: The block that is meant, and the others: four to one, as the two looks of a flash.
_MEANT, _OTHER = 0.6, 0.15


def shares(pixels: int, of: int) -> tuple[int, ...]:
    """The pixels of each of so many parts: all are used, and no two differ by more than one."""
    ends = [pixels * part // of for part in range(of + 1)]
    return tuple(end - start for start, end in pairwise(ends))


def fits(pixels: int, of: int) -> bool:
    """Whether so many parts, or a mark of so many blocks, can be told apart."""
    return pixels >= LEAST_PIXELS * of


def split_frame(
    parts: Sequence[Part], pixels: int, milliseconds: int, *, calm_ms: int | None = None
) -> bytes:
    """The parts one after the other, each with pixels of its own: 3 bytes each, as ``frame``.

    ``calm_ms`` is another time for those that swell or march, where that is given.
    """
    counts = shares(pixels, len(parts))
    return b"".join(
        frame(
            scene,
            count,
            milliseconds if calm_ms is None or scene.effect not in CALM else calm_ms,
            inputs,
        )
        for (scene, inputs), count in zip(parts, counts, strict=True)
    )


def mark_frame(number: int, of: int, pixels: int) -> bytes:
    """The mark of the ``number``-th (from 1) of so many printers: that block bright, the rest dim.

    The blocks are parted by a dark pixel, so that they can be counted from either end in the dark
    and without telling colours apart.
    """
    return b"".join(
        _block(_MEANT if block == number else _OTHER, count)
        for block, count in enumerate(shares(pixels, of), start=1)
    )


def _block(brightness: float, pixels: int) -> bytes:
    """Lit but for its last pixel; a single one is lit."""
    lit = bytes(dimmed(_NEUTRAL, brightness))
    return lit * (pixels - 1) + bytes(BLACK) if pixels > 1 else lit * pixels
