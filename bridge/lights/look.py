"""What a segment should show: one of the controller's own effects, or a painted frame."""

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
    """A painted frame: 3 bytes a pixel, brightness included, in the segment's own direction."""

    frame: bytes
    fade_ms: int = 0

    def __str__(self) -> str:
        return f"{len(self.frame) // 3} painted pixels"


Look: TypeAlias = Native | Still
