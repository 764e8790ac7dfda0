"""When to ask a polled printer next."""

from __future__ import annotations

from bridge.facts.jitter import backoff_ms

#: Never more often: a weak printer board stutters under polls (common practice).
LEAST_MS = 1000
BACKOFF_BASE_MS = 2000
BACKOFF_CAP_MS = 15_000
#: A mistaken date in a Retry-After must not silence a printer for good.
MOST_WAIT_MS = 600_000


class PollSchedule:
    """One endpoint: gentle intervals, one poll at a time, backoff with jitter after failures."""

    def __init__(self, name: str, working_ms: int, resting_ms: int, seed: str) -> None:
        self._name = name
        self._interval_ms = {True: max(LEAST_MS, working_ms), False: max(LEAST_MS, resting_ms)}
        self._seed = seed
        self._asked_ms: int | None = None
        self._waiting = False
        self._failures = 0
        self._not_before_ms = 0

    def due_ms(self, now_ms: int, *, working: bool) -> int | None:
        """When the next poll is due; ``None`` while one is under way."""
        if self._waiting:
            return None
        if self._asked_ms is None:
            return now_ms
        if self._failures:
            return self._not_before_ms
        return max(self._asked_ms + self._interval_ms[working], self._not_before_ms)

    def asked(self, now_ms: int) -> None:
        """A poll goes now."""
        self._asked_ms, self._waiting = now_ms, True

    def heard(self) -> None:
        """It was answered."""
        self._waiting, self._failures, self._not_before_ms = False, 0, 0

    def failed(self, now_ms: int, retry_after_ms: int | None) -> None:
        """It was not: wait longer with each failure, and as long as was asked for within bounds."""
        self._waiting = False
        self._failures += 1
        wait = backoff_ms(
            self._seed,
            self._name,
            self._failures,
            base_ms=BACKOFF_BASE_MS,
            cap_ms=BACKOFF_CAP_MS,
        )
        asked_for = min(retry_after_ms or 0, MOST_WAIT_MS)
        self._not_before_ms = now_ms + max(LEAST_MS, wait, asked_for)
