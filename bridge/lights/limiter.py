"""How often an address may be asked: at most ``count`` requests in any ``window_ms``."""

from __future__ import annotations

from collections import deque


class Limiter:
    """A sliding window over the instants of sending, counted at the sender.

    It counts as used up at a start: what an earlier run sent in its last second is not known, and
    the limit holds across restarts.
    """

    def __init__(self, count: int | None, window_ms: int, start_ms: int) -> None:
        self._count = count
        self._window_ms = window_ms
        self._sent: deque[int] = deque([start_ms] * (count or 0), maxlen=count)

    def next_slot(self, now_ms: int) -> int:
        """The first instant, not before ``now_ms``, at which a request may go."""
        if self._count is None:
            return now_ms
        # The window is closed at both ends: two requests exactly one window apart share it.
        return max(now_ms, self._sent[0] + self._window_ms + 1)

    def slot_after(self, now_ms: int) -> int:
        """When another could follow one that goes at ``now_ms``."""
        if self._count is None:
            return now_ms
        before = self._sent[1] if self._count > 1 else now_ms
        return max(now_ms, before + self._window_ms + 1)

    def charge(self, now_ms: int) -> None:
        """A request goes now."""
        if self._count is not None:
            self._sent.append(now_ms)
