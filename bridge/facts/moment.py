"""The instant an event happened, on both clocks."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Moment:
    """Two readings of one instant.

    ``ms``: a monotonic clock, integer milliseconds, by which everything is timed (floats make
    deadlines that are due and not due at once). ``wall_ms``: milliseconds since the epoch in UTC,
    or ``None`` until the wall clock is known; for local-time conditions, message ages and records
    only.
    """

    ms: int
    wall_ms: int | None = None

    def at(self, ms: int) -> Moment:
        """The same clocks at another reading of the monotonic one."""
        wall = self.wall_ms
        return Moment(ms, None if wall is None else wall + ms - self.ms)

    def ms_at(self, wall_ms: int | None) -> int | None:
        """What the monotonic clock read, or will, at a time of the wall; ``None`` if not known."""
        if self.wall_ms is None or wall_ms is None:
            return None
        return self.ms + wall_ms - self.wall_ms
