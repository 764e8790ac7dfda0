"""Where a segment is on its controller."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.scenes.calibration import AS_IT_IS, Calibration


@dataclass(frozen=True, slots=True)
class Place:
    """A range of pixels, counted from 0. ``number`` is the controller's own name for it."""

    segment: str
    number: int | str
    first: int
    length: int
    calibration: Calibration = AS_IT_IS

    @property
    def last(self) -> int:
        """The last pixel, included."""
        return self.first + self.length - 1
