"""Put aside for a time, or out of service: what lies over an alarm's life and hides it.

Beneath it the condition is judged on (ISA-18.2): at the end it shows whatever is so by then.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp, placed, wall_of
from bridge.rules.alarm_records import OutOfServiceRecord, Refusal, ShelfRecord, WhyRefused
from bridge.rules.alarm_states import OUT_OF_SERVICE, SHELVED


@dataclass(frozen=True, slots=True)
class _Shelf:
    until_wall_ms: int
    reason: str
    who: str
    #: On the monotonic clock; ``None`` until the wall clock is known, and it does not act before.
    due_ms: int | None
    #: The number of the change whose record it waits for.
    awaits: int | None

    def placed(self, now: Moment) -> _Shelf:
        if now.wall_ms is None:
            return self
        return replace(self, due_ms=now.ms + self.until_wall_ms - now.wall_ms)


@dataclass(frozen=True, slots=True)
class _OutOfService:
    reason: str
    who: str
    since: Stamp | None
    awaits: int | None


class Overlays:
    """The shelf and the out-of-service mark of one alarm. Mutable; owned by its machine."""

    def __init__(self) -> None:
        self._shelf: _Shelf | None = None
        self._out: _OutOfService | None = None

    @property
    def symbol(self) -> str | None:
        """What hides the alarm now, or ``None``."""
        if self._out is not None and self._out.awaits is None:
            return OUT_OF_SERVICE
        shelf = self._shelf
        acts = shelf is not None and shelf.awaits is None and shelf.due_ms is not None
        return SHELVED if acts else None

    @property
    def any(self) -> bool:
        """Whether there is one at all, acting or not."""
        return self._shelf is not None or self._out is not None

    @property
    def due_ms(self) -> int | None:
        """When the shelf ends."""
        return None if self._shelf is None else self._shelf.due_ms

    def shelve(
        self, until_wall_ms: int, reason: str, who: str, number: int, now: Moment
    ) -> Refusal | None:
        """Put aside, or anew with another end. It hides only once ``number`` is confirmed."""
        if not reason.strip():
            return Refusal(WhyRefused.NO_REASON)
        if now.wall_ms is None:
            return Refusal(WhyRefused.NO_CLOCK)
        if until_wall_ms <= now.wall_ms:
            return Refusal(WhyRefused.PAST)
        # One that hides already goes on doing so: only the first has something to wait for.
        hides = self._shelf is not None and self._shelf.awaits is None
        awaits = None if hides else number
        self._shelf = _Shelf(until_wall_ms, reason, who, None, awaits).placed(now)
        return None

    def unshelve(self) -> Refusal | None:
        """Take it back before its time, or at it."""
        if self._shelf is None:
            return Refusal(WhyRefused.NOT_SHELVED)
        self._shelf = None
        return None

    def take_out(self, reason: str, who: str, number: int, now: Moment) -> Refusal | None:
        """Out of service, once ``number`` is confirmed."""
        if not reason.strip():
            return Refusal(WhyRefused.NO_REASON)
        if self._out is not None:
            return Refusal(
                WhyRefused.ALREADY_OUT_OF_SERVICE, f"{self._out.who}, {self._out.reason}"
            )
        self._out = _OutOfService(reason, who, Stamp.of(now), number)
        return None

    def return_to_service(self) -> Refusal | None:
        """Back in service."""
        if self._out is None:
            return Refusal(WhyRefused.IN_SERVICE)
        self._out = None
        return None

    def confirmed(self, number: int) -> None:
        """What waited for this change hides from now on."""
        if self._shelf is not None and self._shelf.awaits == number:
            self._shelf = replace(self._shelf, awaits=None)
        if self._out is not None and self._out.awaits == number:
            self._out = replace(self._out, awaits=None)

    def clock(self, now: Moment) -> None:
        """The wall clock became known or was stepped: the end of a shelf moves with it."""
        if self._shelf is not None:
            self._shelf = self._shelf.placed(now)
        if self._out is not None:
            self._out = replace(self._out, since=placed(self._out.since, now))

    def clear(self) -> None:
        """Neither any more."""
        self._shelf = self._out = None

    def records(self, now: Moment) -> tuple[ShelfRecord | None, OutOfServiceRecord | None]:
        """Both as they cross a start."""
        shelf = out = None
        if self._shelf is not None:
            shelf = ShelfRecord(self._shelf.until_wall_ms, self._shelf.reason, self._shelf.who)
        if self._out is not None:
            since_wall_ms = wall_of(self._out.since, now)
            out = OutOfServiceRecord(self._out.reason, self._out.who, since_wall_ms)
        return shelf, out

    def restore(
        self, shelf: ShelfRecord | None, out: OutOfServiceRecord | None, now: Moment
    ) -> None:
        """As an earlier start left them; a shelf waits for the wall clock."""
        if shelf is not None:
            known = _Shelf(shelf.until_wall_ms, shelf.reason, shelf.who, None, None)
            self._shelf = known.placed(now)
        if out is not None:
            since = Stamp.restored(out.since_wall_ms, now)
            self._out = _OutOfService(out.reason, out.who, since, None)
