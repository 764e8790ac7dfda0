"""How fast painted frames may follow each other: what limits allow and replies have shown."""

from __future__ import annotations

from collections import deque
from typing import Final

from bridge.lights.dialect.grammar import Limits

#: No two changes of one segment's light come closer than half a period of 2.8 Hz: any second then
#: holds at most three flashes (WCAG 2.3.1), whatever changes between whatever.
LEAST_CHANGE_MS: Final = 179
#: Replies that are remembered; one of them may be an exception.
_REPLIES: Final = 8
#: Frames may take this share of what a controller can take; the rest is for what is new.
_SHARE: Final = 0.75
#: Who was too slow stays so for a while: a rate that comes and goes would say things of its own.
_SLOW_FOR_MS: Final = 30_000


class Pace:
    """What one controller can take. ``slot_ms`` is the least time between two requests."""

    def __init__(self, slot_ms: int) -> None:
        self._slot_ms = slot_ms
        self._replies: deque[int] = deque(maxlen=_REPLIES)
        self._slow_ms = 0
        self._slow_until_ms = 0

    @classmethod
    def by_limits(cls, limits: Limits) -> Pace:
        """As the dialect's limits alone have it."""
        return cls(-(-limits.window_ms // limits.requests) if limits.requests else 0)

    def replied(self, took_ms: int, now_ms: int) -> None:
        """A request was answered after so long, or given up."""
        self._replies.append(took_ms)
        typical = sorted(self._replies)[-2:][0]
        if typical >= self._slow_ms or now_ms >= self._slow_until_ms:
            self._slow_ms, self._slow_until_ms = typical, now_ms + _SLOW_FOR_MS

    @property
    def each_ms(self) -> int:
        """What one request takes."""
        return max(self._slot_ms, self._slow_ms)

    def least_period_ms(self, requests: int) -> int:
        """The shortest period in which so many requests can go beside what is new."""
        return int(requests * self.each_ms / _SHARE) + 1
