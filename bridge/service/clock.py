"""The two clocks of the service."""

from __future__ import annotations

import time
from typing import Final

from bridge.facts.moment import Moment

#: 2026-01-01. A board without a clock of its own starts at an earlier date and is not believed.
_BELIEVED_FROM_MS: Final = 1_767_225_600_000
#: A step of the wall clock; smaller ones are the slewing of a time service.
STEP_MS: Final = 1000


class Clock:
    """Reads both clocks at once and notices when the wall clock became known or was stepped.

    The monotonic one is CLOCK_BOOTTIME: it goes on while the board sleeps.
    """

    def __init__(self) -> None:
        self._offset_ms: int | None = None

    def now(self) -> Moment:
        """This instant."""
        ms = time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000
        wall_ms = time.time_ns() // 1_000_000
        return Moment(ms, wall_ms if wall_ms >= _BELIEVED_FROM_MS else None)

    def stepped(self, now: Moment) -> bool:
        """Whether the wall clock became known, unknown, or jumped since the last call."""
        offset = None if now.wall_ms is None else now.wall_ms - now.ms
        before, self._offset_ms = self._offset_ms, offset
        if offset is None or before is None:
            return offset is not before
        if abs(offset - before) >= STEP_MS:
            return True
        # Compared with the first from now on too, so that many small steps are told in the end.
        self._offset_ms = before
        return False
