"""What a simulated controller's pixels give off: colours that stand or beat by its own clock."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

#: What every pixel gives off from power-up until somebody says something.
POWER_UP: Final = bytes((18, 10, 2))
#: How much of itself a beating colour keeps in its weak half.
WEAK: Final = 0.25


@dataclass(slots=True)
class Glow:
    """A stretch of pixels: 3 bytes a pixel, as bright as they get; ``beat_ms`` 0 stands still."""

    cells: bytes
    beat_ms: int = 0
    begun_ms: int = 0

    def at(self, now_ms: int) -> bytes:
        """What comes out now: the first half of each beat is full, the second weak."""
        if not self.beat_ms or (now_ms - self.begun_ms) % self.beat_ms * 2 < self.beat_ms:
            return self.cells
        return bytes(rounded(cell * WEAK) for cell in self.cells)


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

    def put(self, first: int, glow: Glow) -> None:
        """Lay a stretch over the run; what it covers of older ones is gone."""
        last = first + len(glow.cells) // 3
        kept: dict[int, Glow] = {}
        for start, old in self.glows.items():
            end = start + len(old.cells) // 3
            if start < first:
                kept[start] = Glow(
                    old.cells[: (min(end, first) - start) * 3], old.beat_ms, old.begun_ms
                )
            if end > last:
                begin = max(start, last)
                kept[begin] = Glow(old.cells[(begin - start) * 3 :], old.beat_ms, old.begun_ms)
        kept[first] = glow
        self.glows = kept

    def frame(self, now_ms: int) -> bytes:
        """The whole run, 3 bytes a pixel: red, green, blue."""
        frame = bytearray(POWER_UP * self.pixels)
        for first, glow in self.glows.items():
            cells = glow.at(now_ms)
            frame[first * 3 : first * 3 + len(cells)] = cells
        return bytes(frame)


def rounded(value: float) -> int:
    """To the nearest code value, halves up, within a byte."""
    return min(255, max(0, int(value + 0.5)))
