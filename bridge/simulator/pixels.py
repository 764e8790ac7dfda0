"""What a simulated controller's pixels give off: colours that stand, beat or fade by its clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

#: What every pixel gives off from power-up until somebody says something.
POWER_UP: Final = bytes((18, 10, 2))
#: How much of itself a beating colour keeps in its weak half.
WEAK: Final = 0.25


@dataclass(slots=True)
class Glow:
    """A stretch of pixels: 3 bytes a pixel, as bright as they get; ``beat_ms`` 0 stands still.

    It comes up out of ``before`` from ``laid_ms`` on within ``fades_ms``.
    """

    cells: bytes
    beat_ms: int = 0
    begun_ms: int = 0
    before: bytes = b""
    laid_ms: int = 0
    fades_ms: int = 0

    def at(self, now_ms: int) -> bytes:
        """What comes out now: the first half of each beat is full, the second weak."""
        cells = self.cells
        if self.beat_ms and (now_ms - self.begun_ms) % self.beat_ms * 2 >= self.beat_ms:
            cells = bytes(rounded(cell * WEAK) for cell in cells)
        since_ms = now_ms - self.laid_ms
        if since_ms >= self.fades_ms:
            return cells
        share = since_ms / self.fades_ms
        return bytes(
            rounded(was + (is_ - was) * share) for was, is_ in zip(self.before, cells, strict=True)
        )

    def cut(self, begin: int, end: int) -> Glow:
        """The part of it from one of its pixels to before another."""
        part = slice(3 * begin, 3 * end)
        return replace(self, cells=self.cells[part], before=self.before[part])


@dataclass(slots=True)
class Board:
    """The clock and the memory that every controller has: both end with its power."""

    pixels: int
    boots: int = 1
    booted_ms: int = 0
    glows: dict[int, Glow] = field(default_factory=dict)

    def boot(self, now_ms: int) -> None:
        """Begin anew: nothing is remembered and the time awake starts at zero."""
        self.boots += 1
        self.booted_ms = now_ms
        self.glows = {}

    def awake_ms(self, now_ms: int) -> int:
        """How long since power-up."""
        return now_ms - self.booted_ms

    def put(self, first: int, glow: Glow, now_ms: int = 0, fades_ms: int = 0) -> None:
        """Lay a stretch over the run; what it covers of older ones is gone, or fades away."""
        last = first + len(glow.cells) // 3
        if fades_ms:
            before = self.frame(now_ms)[3 * first : 3 * last]
            glow = replace(glow, before=before, laid_ms=now_ms, fades_ms=fades_ms)
        kept: dict[int, Glow] = {}
        for start, old in self.glows.items():
            end = start + len(old.cells) // 3
            if start < first:
                kept[start] = old.cut(0, min(end, first) - start)
            if end > last:
                begin = max(start, last)
                kept[begin] = old.cut(begin - start, end - start)
        kept[first] = glow
        self.glows = kept

    def frame(self, now_ms: int) -> bytes:
        """The whole run, 3 bytes a pixel: red, green, blue."""
        return self._laid({first: glow.at(now_ms) for first, glow in self.glows.items()})

    def full(self) -> bytes:
        """The whole run as bright as it gets, all changes over."""
        return self._laid({first: glow.cells for first, glow in self.glows.items()})

    def _laid(self, stretches: Mapping[int, bytes]) -> bytes:
        frame = bytearray(POWER_UP * self.pixels)
        for first, cells in stretches.items():
            frame[first * 3 : first * 3 + len(cells)] = cells
        return bytes(frame)


def rounded(value: float) -> int:
    """To the nearest code value, halves up, within a byte."""
    return min(255, max(0, int(value + 0.5)))
