"""What a segment should show: one of the controller's own effects, or painted frames."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from bridge.scenes.scene import Colour, Effect, Rate


@dataclass(frozen=True, slots=True)
class Native:
    """An effect that the controller makes by itself. ``level`` is the drive, 0..1.

    ``fade_ms``: how long the change to it may take, where the controller can fade.
    """

    effect: Effect
    colour: Colour
    level: float
    rate: Rate = "normal"
    fade_ms: int = 0

    @property
    def lit(self) -> bool:
        """Whether any light comes out."""
        return self.level > 0 and any(self.colour)

    def __str__(self) -> str:
        red, green, blue = self.colour
        rate = f" {self.rate}" if self.effect == "flash" else ""
        return f"{self.effect}{rate} #{red:02x}{green:02x}{blue:02x} at {self.level:.0%}"


@dataclass(frozen=True, slots=True)
class Still:
    """A painted frame: 3 bytes a pixel, brightness included, in the segment's own direction.

    ``fade_ms``: how long the change to it may take, where the controller can fade.
    """

    frame: bytes
    fade_ms: int = 0

    def __str__(self) -> str:
        return f"{len(self.frame) // 3} painted pixels"


@dataclass(frozen=True, slots=True)
class Moving:
    """Painted frames that follow each other for ever, at equal shares of a period.

    ``periods_ms``: the wished period first, then longer ones for a link that does not carry it.
    Where none of them is carried, the first frame stands still: it is the one that must not be
    overlooked, so a flash begins with its brighter half.
    """

    frames: tuple[bytes, ...]
    periods_ms: tuple[int, ...]

    def number_at(self, since_ms: int, period_ms: int) -> int:
        """Which frame shows ``since_ms`` after the first began."""
        return since_ms * len(self.frames) // period_ms % len(self.frames)

    def next_ms(self, since_ms: int, period_ms: int) -> int:
        """When the next frame begins, counted from when the first began."""
        step = since_ms * len(self.frames) // period_ms + 1
        return -(-step * period_ms // len(self.frames))

    def __str__(self) -> str:
        return f"{len(self.frames)} painted frames every {self.periods_ms[0]} ms"


Look: TypeAlias = Native | Still | Moving
