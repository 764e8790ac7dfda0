"""The judge of I6, first half: no pixel flashes more often than three times in any second.

It shares no code with the bridge. A general flash is a pair of opposing changes of relative
luminance, each of 10 % of the most or more, whose darker side is below 0.80 (WCAG 2.x); changes are
taken from peak to valley. Counted is what the simulated pixels show, whatever it was told for.

A controller's own flash is as its dialect declares ("native effects as declared"), and counts as
the steady light of its brighter half. What a pixel showed before a restart, somebody's touch, a
write that was lost or that came when the bridge had given it up, was not the bridge's doing: its
changes are counted anew from there, and that one is not.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from tests.campaign.boards import Light
from tests.campaign.ledger import BrokenPromiseError
from tests.campaign.sites import Strip

WINDOW_MS: Final = 1000
FLASHES: Final = 3
STEP: Final = 0.1
BRIGHT: Final = 0.8


def luminance(pixel: Iterable[float]) -> float:
    """Relative luminance of red, green and blue, each 0..255."""
    parts = (_linear(channel / 255) for channel in pixel)
    return sum(share * part for share, part in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


@dataclass
class Pixel:
    """One pixel: the last peak or valley, which way it goes, and when it turned."""

    extreme: float
    #: 1 after a rise, -1 after a fall, 0 while it did neither.
    rising: int = 0
    turns: deque[int] = field(default_factory=deque)

    def shows(self, level: float, now: int) -> int:
        """It shows that; how many flashes the second until now has."""
        change = level - self.extreme
        if self.rising * change > 0:
            self.extreme = level
        elif abs(change) >= STEP and min(level, self.extreme) < BRIGHT:
            self.extreme, self.rising = level, 1 if change > 0 else -1
            self.turns.append(now)
        while self.turns and self.turns[0] < now - WINDOW_MS:
            self.turns.popleft()
        return len(self.turns) // 2


class Glare:
    """Every pixel of every segment."""

    def __init__(self) -> None:
        self._lights: dict[str, Light] = {}
        self._pixels: dict[str, list[Pixel]] = {}

    def anew(self, strip: Strip) -> None:
        """What it shows now is not the bridge's doing."""
        self._lights.pop(strip.name, None)
        self._pixels.pop(strip.name, None)

    def shows(self, strip: Strip, light: Light, now: int) -> None:
        """A segment shows that from now on."""
        if self._lights.get(strip.name) == light:
            return
        self._lights[strip.name] = light
        levels = [luminance(pixel) for pixel in light[1]]
        if strip.name not in self._pixels:
            self._pixels[strip.name] = [Pixel(level) for level in levels]
            return
        pixels = zip(self._pixels[strip.name], levels, strict=True)
        most = max(pixel.shows(level, now) for pixel, level in pixels)
        if most > FLASHES:
            raise BrokenPromiseError("I6", f"{strip.name} flashed {most} times by {now}")
