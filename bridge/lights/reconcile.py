"""Keeping one controller right: level-triggered, newest wins, one request in flight.

The rules, in order; the first that applies decides what goes next:

1. Nothing goes while a request is in flight, before a backoff ends, or above the limits.
2. Where an identity is stated, nothing is shown to a controller that has not given it.
3. A read-back that has been due for four shows goes before the next show.
4. A segment that differs is shown: the graver look first, then the one that has waited longest.
5. A read-back that is due goes.

Whatever was not answered may have been applied: what the segment shows is then not known, and it
is shown again. A restart forgets everything. What is read back is compared with what was told;
a difference is corrected, and after three corrections that did not stick the segment disagrees.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Literal

from bridge.facts.jitter import backoff_ms
from bridge.lights.dialect.dialect import Dialect, Misread, Prepared
from bridge.lights.limiter import Limiter
from bridge.lights.look import Look, Native, Still
from bridge.lights.place import Place
from bridge.lights.restart import RestartWatch
from bridge.lights.segment import INSISTS, SegmentState, Standing

Purpose = Literal["show", "paint", "read", "identify"]
BACKOFF_BASE_MS = 500
BACKOFF_CAP_MS = 30_000
#: How many shows may go while a read-back is due.
SHOWS_BEFORE_READ = 4


class Contact(Enum):
    """How a controller is doing."""

    NOT_TRIED = "not tried yet"
    REACHABLE = "answers"
    UNREACHABLE = "does not answer"
    REFUSING = "answers with an error"
    STRANGER = "is not the controller that the site names"


class Remark(Enum):
    """Something about a controller that a person should hear once."""

    UNREACHABLE = "controller does not answer"
    REFUSING = "controller refuses"
    BACK = "controller answers again"
    RESTARTED = "controller restarted, showing everything again"
    STRANGER = "another controller answers at this address"
    DRIFTED = "segment showed something else, corrected"
    DISAGREES = "segment does not keep what it is told"
    MISREAD = "read-back could not be understood"


@dataclass(frozen=True, slots=True)
class Noticed:
    """A remark with its details; ``segment`` is empty where it is about the whole controller."""

    remark: Remark
    detail: str = ""
    segment: str = ""


@dataclass(frozen=True, slots=True)
class Planned:
    """The next request."""

    purpose: Purpose
    prepared: Prepared
    places: tuple[Place, ...]


@dataclass(slots=True)
class _InFlight:
    planned: Planned
    looks: tuple[Look | None, ...]
    #: Whether the looks are complete once this is answered.
    last: bool


class Reconciler:
    """One controller: desired against observed. It decides; others carry.

    Times are milliseconds of the engine's clock. ``seed`` decides the jitter of the backoff.
    """

    def __init__(
        self,
        name: str,
        dialect: Dialect,
        places: Iterable[Place],
        identity: str | None,
        pixels: int,
    ) -> None:
        self.name = name
        self.dialect = dialect
        self.segments = {place.segment: SegmentState(place) for place in places}
        self.contact = Contact.NOT_TRIED
        self.detail = ""
        self.attempt = 0
        self.restarts = 0
        self._identity = identity
        self._pixels = pixels
        self._identified = not dialect.identifies
        self._stranger_why = ""
        self._misread = ""
        self._in_flight: _InFlight | None = None
        self._seed = ""
        self._retry_ms = 0
        self._read_ms: int | None = None
        self._settled_ms = 0
        self._reads: list[Planned] = []
        self._shows_since_due = 0
        self._restart = RestartWatch()
        self._limiter = Limiter(dialect.limits.requests, dialect.limits.window_ms, 0)

    def start(self, seed: str, now_ms: int) -> None:
        """Begin: the limits count as used up, the first read-back is due at once."""
        limits = self.dialect.limits
        self._seed = seed
        self._limiter = Limiter(limits.requests, limits.window_ms, now_ms)
        self._read_ms = now_ms if self.dialect.reads else None

    @property
    def busy(self) -> bool:
        """Whether a request is in flight."""
        return self._in_flight is not None

    def desire(self, segment: str, look: Look, gravity: int, now_ms: int) -> bool:
        """A new desired look for a segment; returns whether it is another one."""
        return self.segments[segment].desire(look, gravity, now_ms)

    def ready_ms(self, now_ms: int) -> int | None:
        """When the next request can go; ``None`` while one is in flight or none is needed."""
        if self._in_flight is not None:
            return None
        wanted = self._wanted_ms(now_ms)
        return None if wanted is None else self._limiter.next_slot(max(wanted, self._retry_ms))

    def _wanted_ms(self, now_ms: int) -> int | None:
        if not self._identified or self._reads:
            return now_ms
        shows = [
            ready
            for state in self.segments.values()
            if (ready := state.ready_ms(now_ms)) is not None
        ]
        if shows and self._read_overdue(now_ms):
            return max(now_ms, self._settled_ms)
        read = None if self._read_ms is None else max(now_ms, self._read_ms, self._settled_ms)
        return min((*shows, *([] if read is None else [read])), default=None)

    def _read_overdue(self, now_ms: int) -> bool:
        return (
            self._read_ms is not None
            and self._read_ms <= now_ms
            and self._shows_since_due >= SHOWS_BEFORE_READ
        )

    def choose(self, now_ms: int) -> Planned | None:
        """The request to send now, charged to the limiter; ``None`` where it must wait."""
        ready = self.ready_ms(now_ms)
        if ready is None or ready > now_ms:
            return None
        planned = self._plan(now_ms)
        if planned is None:
            return None
        looks = tuple(self.segments[place.segment].desired for place in planned.places)
        parts = self.segments[planned.places[0].segment].rest if planned.purpose == "paint" else ()
        self._in_flight = _InFlight(planned, looks, last=len(parts) <= 1)
        self._limiter.charge(now_ms)
        return planned

    def _plan(self, now_ms: int) -> Planned | None:
        if not self._identified:
            return Planned("identify", self.dialect.identify(), ())
        if self._reads:
            return self._reads.pop(0)
        waiting = [s for s in self.segments.values() if s.ready_ms(now_ms) == now_ms]
        if waiting and not self._read_overdue(now_ms):
            return self._plan_show(waiting)
        return self._plan_read(now_ms)

    def _plan_read(self, now_ms: int) -> Planned | None:
        if self._read_ms is None or max(self._read_ms, self._settled_ms) > now_ms:
            return None
        places = [state.place for state in self.segments.values()]
        self._reads = [
            Planned("read", prepared, about) for prepared, about in self.dialect.reads_for(places)
        ]
        self._read_ms = now_ms + self.dialect.read_every_ms
        self._shows_since_due = 0
        return self._reads.pop(0) if self._reads else None

    def _plan_show(self, waiting: list[SegmentState]) -> Planned:
        first = min(waiting, key=lambda state: (-state.gravity, state.desired_since_ms))
        if isinstance(first.desired, Still):
            return self._plan_paint(first, first.desired)
        together = [first]
        if self.dialect.batch:
            # A body that holds every segment is written whole, else it would unset the others.
            together = [s for s in self.segments.values() if isinstance(s.desired, Native)]
        items = [(s.place, s.desired) for s in together if isinstance(s.desired, Native)]
        return Planned("show", self.dialect.show(items), tuple(place for place, _ in items))

    def _plan_paint(self, state: SegmentState, look: Still) -> Planned:
        if not state.rest:
            state.rest = self.dialect.paint(state.place, look.frame, state.frame_before())
        return Planned("paint", state.rest[0], (state.place,))

    def answered(self, status: int, body: bytes, wait_ms: int | None, now_ms: int) -> list[Noticed]:
        """The request in flight was answered."""
        flight = self._take()
        if flight is None:
            return []
        answer = self.dialect.answer(flight.planned.purpose, status, body)
        if not answer.ok:
            self._failed(flight, now_ms, wait_ms)
            return self._lost_contact(Contact.REFUSING, Remark.REFUSING, str(answer))
        noticed = self._regained_contact(now_ms)
        match flight.planned.purpose:
            case "identify":
                return [*noticed, *self._identity_said(body, now_ms)]
            case "read":
                return [*noticed, *self._read_back(flight.planned.places, body, now_ms)]
            case _:
                self._told(flight, now_ms)
                return noticed

    def unanswered(self, *, maybe_applied: bool, why: str, now_ms: int) -> list[Noticed]:
        """The request in flight was not answered."""
        flight = self._take()
        if flight is None:
            return []
        self._failed(flight, now_ms, None, maybe_applied=maybe_applied)
        return self._lost_contact(Contact.UNREACHABLE, Remark.UNREACHABLE, why)

    def _take(self) -> _InFlight | None:
        flight, self._in_flight = self._in_flight, None
        return flight

    def _failed(
        self, flight: _InFlight, now_ms: int, wait_ms: int | None, *, maybe_applied: bool = True
    ) -> None:
        self.attempt += 1
        wait = backoff_ms(
            self._seed, self.name, self.attempt, base_ms=BACKOFF_BASE_MS, cap_ms=BACKOFF_CAP_MS
        )
        self._retry_ms = now_ms + max(wait, min(wait_ms or 0, BACKOFF_CAP_MS))
        self._reads = []
        if self._read_ms is not None:
            # Whoever comes back after an outage is looked at first thing.
            self._read_ms = min(self._read_ms, self._retry_ms)
        if maybe_applied and flight.planned.purpose in ("show", "paint"):
            for place in flight.planned.places:
                self.segments[place.segment].forget()

    def _lost_contact(self, contact: Contact, remark: Remark, why: str) -> list[Noticed]:
        again = (contact, why) == (self.contact, self.detail)
        self.contact, self.detail = contact, why
        return [] if again else [Noticed(remark, why)]

    def _regained_contact(self, now_ms: int) -> list[Noticed]:
        was_away = self.contact in (Contact.UNREACHABLE, Contact.REFUSING)
        self.contact, self.detail, self.attempt = Contact.REACHABLE, "", 0
        self._retry_ms = now_ms
        if not was_away:
            return []
        if not self.dialect.reads:
            # It may have lost its power meanwhile, and cannot be asked.
            self._forget_all()
        return [Noticed(Remark.BACK)]

    def _told(self, flight: _InFlight, now_ms: int) -> None:
        self._settled_ms = now_ms + self.dialect.limits.settles_in_ms
        if self._read_ms is not None:
            if self._read_ms <= now_ms:
                self._shows_since_due += 1
            self._read_ms = min(self._read_ms, self._settled_ms)
        for place, look in zip(flight.planned.places, flight.looks, strict=True):
            state = self.segments[place.segment]
            if flight.last:
                state.told, state.standing = look, Standing.TOLD
                state.rest = ()
            elif state.rest:
                state.standing, state.rest = Standing.NOT_KNOWN, state.rest[1:]
            else:
                # The look changed while a part of it was under way: what is there is a mixture.
                state.forget()

    def _identity_said(self, body: bytes, now_ms: int) -> list[Noticed]:
        said = self.dialect.identity(body)
        if isinstance(said, Misread):
            return self._stranger(f"its answer could not be understood: {said}", now_ms)
        if self._identity is not None and said.identity != self._identity:
            return self._stranger(f"it says {said.identity!r}, expected {self._identity!r}", now_ms)
        if said.pixels is not None and said.pixels < self._pixels:
            return self._stranger(
                f"it has {said.pixels} pixels, the site says {self._pixels}", now_ms
            )
        self._identified, self._stranger_why = True, ""
        return []

    def _stranger(self, why: str, now_ms: int) -> list[Noticed]:
        again, self._stranger_why = self._stranger_why == why, why
        self.contact, self.detail = Contact.STRANGER, why
        self._retry_ms = now_ms + BACKOFF_CAP_MS
        return [] if again else [Noticed(Remark.STRANGER, why)]

    def _read_back(self, places: tuple[Place, ...], body: bytes, now_ms: int) -> list[Noticed]:
        seen = self.dialect.observed(body, places)
        if isinstance(seen, Misread):
            again, self._misread = self._misread == str(seen), str(seen)
            return [] if again else [Noticed(Remark.MISREAD, str(seen))]
        self._misread = ""
        if self._restart.happened(seen.uptime_ms, seen.mark, now_ms):
            return self._restarted()
        noticed: list[Noticed] = []
        for place in places:
            state = self.segments[place.segment]
            state.seen = seen.seen.get(place.segment, {})
            if state.told is not None and state.standing is not Standing.NOT_KNOWN:
                gone = ("segment",) if place.segment in seen.missing else ()
                unlike = gone or self.dialect.differences(place, state.told, state.seen)
                noticed += self._compared(state, unlike, now_ms)
        return noticed

    def _restarted(self) -> list[Noticed]:
        self.restarts += 1
        self._reads = []
        self._forget_all()
        self._identified = not self.dialect.identifies
        return [Noticed(Remark.RESTARTED)]

    def _forget_all(self) -> None:
        for state in self.segments.values():
            state.forget()
            state.insisted, state.held_until_ms = 0, None

    def _compared(self, state: SegmentState, unlike: tuple[str, ...], now_ms: int) -> list[Noticed]:
        if not unlike:
            state.standing, state.insisted, state.held_until_ms = Standing.CONFIRMED, 0, None
            return []
        state.forget()
        state.insisted += 1
        words = ", ".join(unlike)
        if state.insisted < INSISTS:
            return [Noticed(Remark.DRIFTED, words, state.place.segment)]
        state.held_until_ms = now_ms + BACKOFF_CAP_MS
        if state.insisted > INSISTS:
            return []
        return [Noticed(Remark.DISAGREES, words, state.place.segment)]
