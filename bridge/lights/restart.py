"""Noticing that a controller began anew, and with it forgot what it was told."""

from __future__ import annotations

from enum import Enum
from typing import Final

#: Clocks of small boards run up to some parts in a hundred wrong, and answers wait on the way.
TOLERANCE_MS: Final = 3000
DRIFT: Final = 0.03


class Began(Enum):
    """What a read-back tells of a controller's start."""

    AS_BEFORE = "goes on"
    ANEW = "began anew"
    #: Longer awake than the one that answered before can be.
    ANOTHER = "is another"


class RestartWatch:
    """Compares each read-back's uptime or boot mark with the one before."""

    def __init__(self) -> None:
        self._uptime_ms: int | None = None
        self._mark: str | None = None
        self._at_ms = 0

    def happened(self, uptime_ms: int | None, mark: str | None, now_ms: int) -> Began:
        """What happened since the last call.

        A mark that changed, or an uptime below the last one plus the time since, less a tolerance,
        is a restart; an uptime above that by as much is another controller's.
        """
        began = self._judged(uptime_ms, mark, now_ms)
        if uptime_ms is not None:
            self._uptime_ms, self._at_ms = uptime_ms, now_ms
        self._mark = mark if mark is not None else self._mark
        return began

    def _judged(self, uptime_ms: int | None, mark: str | None, now_ms: int) -> Began:
        if self._mark is not None and mark is not None and mark != self._mark:
            return Began.ANEW
        if self._uptime_ms is None or uptime_ms is None:
            return Began.AS_BEFORE
        since = now_ms - self._at_ms
        if uptime_ms < self._uptime_ms + since * (1 - DRIFT) - TOLERANCE_MS:
            return Began.ANEW
        if uptime_ms > self._uptime_ms + since * (1 + DRIFT) + TOLERANCE_MS:
            return Began.ANOTHER
        return Began.AS_BEFORE
