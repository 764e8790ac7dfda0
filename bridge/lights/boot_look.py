"""The look that a controller shows by itself at power-up: kept at off watch, written rarely.

It is read at the start and once a day. It is written only where it differs, so often a day at most,
and read again afterwards: stored settings wear out, and one that is never kept as written would be
worn out first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from bridge.lights.dialect.booting import Booting
from bridge.lights.dialect.replies import Misread
from bridge.lights.dialect.request import Prepared
from bridge.lights.look import Native
from bridge.lights.place import Place

DAY_MS: Final = 24 * 3_600_000


@dataclass(frozen=True, slots=True)
class BootRequest:
    """One request about it."""

    purpose: Literal["read boot", "write boot"]
    prepared: Prepared
    places: tuple[Place, ...] = ()


@dataclass(slots=True, eq=False)
class BootLook:
    """One controller's. Mutable; owned by its reconciler. ``looks``: what should be stored."""

    booting: Booting
    looks: tuple[tuple[Place, Native], ...]
    due_ms: int | None = None
    #: When it was written, of the last 24 hours.
    written_ms: list[int] = field(default_factory=list)
    #: What is stored otherwise, by segment: the names that differ.
    unlike: dict[str, tuple[str, ...]] = field(default_factory=dict)
    _requests: list[BootRequest] = field(default_factory=list)
    _is_check: bool = False

    def start(self, now_ms: int) -> None:
        """Look at it soon."""
        self.due_ms = now_ms

    def when_ms(self, now_ms: int) -> int | None:
        """When the next request about it wants to go."""
        return now_ms if self._requests else self.due_ms

    def plan(self, now_ms: int) -> BootRequest | None:
        """The next request."""
        if not self._requests:
            self._begin(now_ms)
        return self._requests.pop(0) if self._requests else None

    def _begin(self, now_ms: int) -> None:
        """A new look at it."""
        self.due_ms = now_ms + DAY_MS
        self.unlike.clear()
        reads = self.booting.reads([place for place, _ in self.looks])
        self._requests = [BootRequest("read boot", prepared, places) for prepared, places in reads]

    def read(self, places: Sequence[Place], body: bytes, now_ms: int) -> Misread | bool:
        """What an answer says; whether it is known now that what was written was not kept."""
        seen = self.booting.observed(body, places)
        if isinstance(seen, Misread):
            self._requests = []
            return seen
        looks = {place.segment: (place, native) for place, native in self.looks}
        for place in places:
            _, native = looks[place.segment]
            differs = self.booting.differences(place, native, seen.seen.get(place.segment, {}))
            if differs:
                self.unlike[place.segment] = differs
        if self._requests or not self.unlike:
            self._is_check = self._is_check and bool(self._requests)
            return False
        if self._is_check:
            self._is_check = False
            return True
        self._write(now_ms)
        return False

    def _write(self, now_ms: int) -> None:
        self.written_ms = [at for at in self.written_ms if at > now_ms - DAY_MS]
        items = [(place, look) for place, look in self.looks if place.segment in self.unlike]
        writes = self.booting.writes(items)
        if len(self.written_ms) + len(writes) > self.booting.a_day:
            # Not today. What is stored by then is looked at again.
            oldest = min(self.written_ms, default=now_ms)
            self.due_ms = max(now_ms + 3_600_000, oldest + DAY_MS + 1)
            return
        self._requests = [BootRequest("write boot", each) for each in writes]

    def written(self, now_ms: int) -> bool:
        """It was written; whether that was all of it."""
        self.written_ms.append(now_ms)
        if self._requests:
            return False
        self._is_check, self.due_ms = True, now_ms
        return True

    def failed(self, now_ms: int) -> None:
        """A request about it was refused, or may not have been taken: tomorrow again."""
        self._requests, self._is_check, self.due_ms = [], False, now_ms + DAY_MS

    def unanswered(self, purpose: str, now_ms: int) -> None:
        """A write that was not answered may have worn it all the same; look again later."""
        if purpose == "write boot":
            self.written_ms.append(now_ms)
        self._requests, self._is_check, self.due_ms = [], False, now_ms + 3_600_000
