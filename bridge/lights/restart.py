"""Noticing that a controller began anew, and with it forgot what it was told."""

from __future__ import annotations

#: Clocks of small boards run up to some parts in a hundred wrong, and answers wait on the way.
TOLERANCE_MS = 3000
DRIFT = 0.03


class RestartWatch:
    """Compares each read-back's uptime or boot mark with the one before."""

    def __init__(self) -> None:
        self._uptime_ms: int | None = None
        self._mark: str | None = None
        self._at_ms = 0

    def happened(self, uptime_ms: int | None, mark: str | None, now_ms: int) -> bool:
        """Whether it restarted since the last call.

        A mark that changed, or an uptime below the last one plus the time since, less a tolerance.
        """
        restarted = False
        if self._mark is not None and mark is not None:
            restarted = mark != self._mark
        if self._uptime_ms is not None and uptime_ms is not None:
            since = now_ms - self._at_ms
            expected = self._uptime_ms + since * (1 - DRIFT) - TOLERANCE_MS
            restarted = restarted or uptime_ms < expected
        if uptime_ms is not None:
            self._uptime_ms, self._at_ms = uptime_ms, now_ms
        self._mark = mark if mark is not None else self._mark
        return restarted
