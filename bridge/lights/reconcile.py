"""Keeping one controller right: level-triggered, newest wins, one request in flight.

The rules, in order; the first that applies decides what goes next:

1. Nothing goes while a request is in flight, before a backoff ends, or above the limits.
2. Where the dialect can ask for it, nothing is shown before the controller has said who it is.
3. Where a show must carry what is not ours, nothing is shown before that was read.
4. A read-back that has been due for four shows goes before the next show.
5. A segment that differs is shown: the graver look first, then the one that has waited longest.
6. A read-back that is due goes.

Whatever was not answered may have been applied: what the segment shows is then not known, and it
is shown again. A restart forgets everything. What is read back is compared with what was told; a
difference is corrected, and after three corrections that did not stick the segment disagrees.

No answer, or one that is about the controller (busy, failed), makes the whole controller wait; a
request that is refused makes only its own segments wait, so that one look which a controller does
not take cannot keep the others from being shown.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bridge.facts.jitter import backoff_ms
from bridge.lights.contact import Contact, Noticed, Remark
from bridge.lights.desired import Desired
from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.dialect import Dialect, Misread, Observation, Prepared, Purpose, Verdict
from bridge.lights.limiter import Limiter
from bridge.lights.look import Native, Still
from bridge.lights.place import Place
from bridge.lights.restart import RestartWatch
from bridge.lights.segment import Delivery, SegmentState, Standing

BACKOFF_BASE_MS = 500
BACKOFF_CAP_MS = 30_000
#: How many shows may go while a read-back is due.
SHOWS_BEFORE_READ = 4
_AWAY = frozenset({Contact.UNREACHABLE, Contact.REFUSING, Contact.STRANGER})
_ABOUT_THE_CONTROLLER = frozenset({Verdict.BUSY, Verdict.FAILED})


@dataclass(frozen=True, slots=True)
class Planned:
    """The next request."""

    purpose: Purpose
    prepared: Prepared
    places: tuple[Place, ...] = ()
    #: What it is a part of, where it shows something.
    delivery: Delivery | None = None


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
        self.segments = {
            place.segment: SegmentState(place, order) for order, place in enumerate(places)
        }
        self.attempt = 0
        self.restarts = 0
        self._identity = identity
        self._pixels = pixels
        self._identified = not dialect.identifies
        self._contact = Contact.NOT_TRIED
        self._detail = ""
        self._stranger_why = ""
        self._misread = ""
        #: What is refused, by purpose and segment, and why.
        self._refused: dict[tuple[str, str], str] = {}
        #: The segments that differ, so that nothing is looked for where nothing does.
        self._differing: dict[str, SegmentState] = {}
        self._in_flight: Planned | None = None
        self._seed = ""
        self._retry_ms = 0
        #: When to read back, and when to read back everything.
        self._read_ms: int | None = None
        self._read_all_ms = 0
        self._settled_ms = 0
        self._reads: list[Planned] = []
        self._shows_since_due = 0
        #: Everything that the controller was last read to show, where a show must carry it.
        self._echo: tuple[Json, ...] | None = None
        self._restart = RestartWatch()
        self._limiter = Limiter(dialect.limits.requests, dialect.limits.window_ms, 0)

    def start(self, seed: str, now_ms: int) -> None:
        """Begin: the limits count as used up, the first read-back is due at once."""
        limits = self.dialect.limits
        self._seed = seed
        self._limiter = Limiter(limits.requests, limits.window_ms, now_ms)
        self._read_ms = self._read_all_ms = now_ms
        if not self.dialect.reads:
            self._read_ms = None

    @property
    def busy(self) -> bool:
        """Whether a request is in flight."""
        return self._in_flight is not None

    @property
    def contact(self) -> Contact:
        """How it is doing."""
        refuses = self._contact is Contact.REACHABLE and self._refused
        return Contact.REFUSING if refuses else self._contact

    @property
    def detail(self) -> str:
        """Why it is not doing well."""
        return self._detail or next(iter(self._refused.values()), "")

    def desire(self, segment: str, desired: Desired, now_ms: int) -> bool:
        """A new desired look for a segment; returns whether it is another one."""
        state = self.segments[segment]
        is_new = state.desire(desired.look, desired.gravity, now_ms)
        if is_new:
            self._mark(state)
        return is_new

    def _mark(self, state: SegmentState) -> None:
        if state.differs:
            self._differing[state.place.segment] = state
        else:
            self._differing.pop(state.place.segment, None)

    # What goes next ---------------------------------------------------------------------------

    def ready_ms(self, now_ms: int) -> int | None:
        """When the next request can go; ``None`` while one is in flight or none is needed."""
        if self._in_flight is not None:
            return None
        wanted = self._wanted_ms(now_ms)
        return None if wanted is None else self._limiter.next_slot(max(wanted, self._retry_ms))

    def _wanted_ms(self, now_ms: int) -> int | None:
        if not self._identified:
            return now_ms
        show, read = self._show_ms(now_ms), self._next_read_ms(now_ms)
        if show is None or (read is not None and self._read_overdue(now_ms)):
            return read
        return show if read is None else min(show, read)

    def _show_ms(self, now_ms: int) -> int | None:
        if not self._differing or self._awaits_echo:
            return None
        return max(now_ms, min(state.not_before_ms for state in self._differing.values()))

    def _next_read_ms(self, now_ms: int) -> int | None:
        if self._reads:
            return max(now_ms, self._settled_ms)
        return None if self._read_ms is None else max(now_ms, self._read_ms, self._settled_ms)

    @property
    def _awaits_echo(self) -> bool:
        return self.dialect.echoes and self.dialect.reads and self._echo is None

    def _read_due(self, now_ms: int) -> bool:
        return bool(self._reads) or (self._read_ms is not None and self._read_ms <= now_ms)

    def _read_overdue(self, now_ms: int) -> bool:
        return self._shows_since_due >= SHOWS_BEFORE_READ and self._read_due(now_ms)

    def choose(self, now_ms: int) -> Planned | None:
        """The request to send now, charged to the limiter; ``None`` where it must wait."""
        ready = self.ready_ms(now_ms)
        if ready is None or ready > now_ms:
            return None
        self._in_flight = self._plan(now_ms)
        if self._in_flight is not None:
            self._limiter.charge(now_ms)
        return self._in_flight

    def _plan(self, now_ms: int) -> Planned | None:
        if not self._identified:
            return Planned("identify", self.dialect.identify())
        show = self._show_ms(now_ms)
        if show is not None and show <= now_ms and not self._read_overdue(now_ms):
            return self._plan_show(now_ms)
        return self._plan_read(now_ms)

    def _plan_read(self, now_ms: int) -> Planned | None:
        if not self._reads:
            self._begin_read(now_ms)
        self._shows_since_due = 0
        return self._reads.pop(0) if self._reads else None

    def _begin_read(self, now_ms: int) -> None:
        """Everything once in a while, in between what was told and not yet confirmed."""
        everything = self._read_all_ms <= now_ms
        states = [
            state
            for state in self.segments.values()
            if everything or state.standing is Standing.TOLD
        ]
        if everything:
            self._read_all_ms = now_ms + self.dialect.read_every_ms
        self._read_ms = self._read_all_ms
        painted = {state.place.segment for state in states if isinstance(state.told, Still)}
        reads = self.dialect.reads_for([state.place for state in states], painted)
        self._reads = [Planned("read", prepared, about) for prepared, about in reads]

    def _plan_show(self, now_ms: int) -> Planned:
        waiting = [s for s in self._differing.values() if s.not_before_ms <= now_ms]
        first = min(waiting, key=lambda state: state.urgency)
        delivery = first.delivery or self._deliver(first, waiting)
        places = tuple(state.place for state, _ in delivery.looks)
        return Planned(delivery.purpose, delivery.parts.pop(0), places, delivery)

    def _deliver(self, first: SegmentState, waiting: list[SegmentState]) -> Delivery:
        look = first.desired
        if isinstance(look, Still):
            parts = self.dialect.paint(first.place, look.frame, first.frame_before())
            delivery = Delivery("paint", ((first, look),), list(parts))
        else:
            looks = self._together(first, waiting)
            items = [(state.place, native) for state, native in looks]
            show = self.dialect.show(items, self._echo or ())
            delivery = Delivery("show", looks, [show, *self.dialect.after_show(items)])
        for state, _ in delivery.looks:
            state.abandon()
            state.delivery = delivery
        return delivery

    def _together(
        self, first: SegmentState, waiting: list[SegmentState]
    ) -> tuple[tuple[SegmentState, Native], ...]:
        """The segments that one show carries. What was refused goes alone, lest it spoil others."""
        if self.dialect.echoes:
            # Others would be sent as they were last read, which may be older than what we told.
            return tuple(_natives(self.segments.values()))
        if not self.dialect.batch or first.refused:
            return tuple(_natives([first]))
        fresh = [state for state in waiting if not state.refused]
        looks = tuple(_natives(sorted(fresh, key=lambda state: state.urgency)))
        return looks[: self.dialect.fitting([(state.place, look) for state, look in looks])]

    # What came of it --------------------------------------------------------------------------

    def answered(self, status: int, body: bytes, wait_ms: int | None, now_ms: int) -> list[Noticed]:
        """The request in flight was answered; ``wait_ms`` is what the controller asked for."""
        flight, self._in_flight = self._in_flight, None
        if flight is None:
            return []
        was = self.contact
        noticed = self._judge(flight, status, body, wait_ms, now_ms)
        is_back = was in _AWAY and self.contact is Contact.REACHABLE
        return [Noticed(Remark.BACK), *noticed] if is_back else noticed

    def unanswered(self, *, maybe_applied: bool, why: str, now_ms: int) -> list[Noticed]:
        """The request in flight was not answered."""
        flight, self._in_flight = self._in_flight, None
        if flight is None:
            return []
        self._back_off(flight, now_ms, None, maybe_applied=maybe_applied)
        return self._lost_contact(Contact.UNREACHABLE, Remark.UNREACHABLE, why)

    def _judge(
        self, flight: Planned, status: int, body: bytes, wait_ms: int | None, now_ms: int
    ) -> list[Noticed]:
        answer = self.dialect.answer(flight.purpose, status, body)
        if answer.ok:
            self._reached(now_ms)
            return self._taken(flight, body, now_ms)
        must_identify = flight.purpose == "identify" and self._identity is not None
        if must_identify or wait_ms is not None or answer.verdict in _ABOUT_THE_CONTROLLER:
            self._back_off(flight, now_ms, wait_ms)
            return self._lost_contact(Contact.REFUSING, Remark.REFUSING, str(answer))
        self._reached(now_ms)
        return self._refuses(flight, f"{flight.purpose}: {answer}", now_ms)

    def _taken(self, flight: Planned, body: bytes, now_ms: int) -> list[Noticed]:
        if flight.delivery is not None:
            self._told(flight.delivery, now_ms)
            return []
        self._refused.pop((flight.purpose, ""), None)
        if flight.purpose == "identify":
            return self._identity_said(body, now_ms)
        return self._read_back(flight.places, body, now_ms)

    def _back_off(
        self, flight: Planned, now_ms: int, wait_ms: int | None, *, maybe_applied: bool = True
    ) -> None:
        """The whole controller waits."""
        self.attempt += 1
        wait = self._backoff_ms(self.name, self.attempt)
        self._retry_ms = now_ms + max(wait, min(wait_ms or 0, BACKOFF_CAP_MS))
        self._reads = []
        if self._read_ms is not None:
            # Whoever comes back after an outage is looked at all over.
            self._read_all_ms = min(self._read_all_ms, self._retry_ms)
            self._read_ms = min(self._read_ms, self._retry_ms)
        if not self.dialect.reads:
            # It may have lost its power, and cannot be asked: everything is shown again, the
            # parts that it took before, and what it already showed where that is wanted again.
            self._forget(self.segments.values())
        delivery = flight.delivery
        if delivery is None:
            return
        if maybe_applied:
            self._forget([state for state, _ in delivery.looks])
        elif not delivery.abandoned:
            delivery.parts.insert(0, flight.prepared)

    def _backoff_ms(self, name: str, attempt: int) -> int:
        return backoff_ms(self._seed, name, attempt, base_ms=BACKOFF_BASE_MS, cap_ms=BACKOFF_CAP_MS)

    def _lost_contact(self, contact: Contact, remark: Remark, why: str) -> list[Noticed]:
        again = (contact, why) == (self._contact, self._detail)
        self._contact, self._detail = contact, why
        return [] if again else [Noticed(remark, why)]

    def _reached(self, now_ms: int) -> None:
        self._contact, self._detail, self.attempt = Contact.REACHABLE, "", 0
        self._retry_ms = now_ms

    def _refuses(self, flight: Planned, why: str, now_ms: int) -> list[Noticed]:
        """Only what was refused waits."""
        if flight.delivery is None:
            self._reads = []
            # Without an identity to expect, who it is would only have been nice to know.
            self._identified = self._identified or flight.purpose == "identify"
            return self._refusal(flight.purpose, "", why)
        noticed: list[Noticed] = []
        self._forget([state for state, _ in flight.delivery.looks])
        for state, look in flight.delivery.looks:
            if state.desired == look:
                segment = state.place.segment
                state.refused += 1
                wait = self._backoff_ms(f"{self.name}/{segment}", state.refused)
                state.not_before_ms = now_ms + wait
                noticed += self._refusal("show", segment, why)
        return noticed

    def _refusal(self, purpose: str, segment: str, why: str) -> list[Noticed]:
        again = self._refused.get((purpose, segment)) == why
        self._refused[purpose, segment] = why
        return [] if again else [Noticed(Remark.REFUSING, why, segment)]

    def _told(self, delivery: Delivery, now_ms: int) -> None:
        self._settled_ms = now_ms + self.dialect.limits.settles_in_ms
        if self._read_due(now_ms):
            self._shows_since_due += 1
        if self._read_ms is not None:
            self._read_ms = min(self._read_ms, self._settled_ms)
        for state, look in delivery.looks:
            if not delivery.parts:
                state.tell(look)
                self._refused.pop(("show", state.place.segment), None)
            else:
                # A part of it is there: what it shows is a mixture, and where the look changed
                # while the part was under way, it stays one until it is shown anew.
                state.standing = Standing.NOT_KNOWN
            self._mark(state)

    def _identity_said(self, body: bytes, now_ms: int) -> list[Noticed]:
        said = self.dialect.identity(body)
        if isinstance(said, Misread):
            if self._identity is not None:
                return self._stranger(f"its answer could not be understood: {said}", now_ms)
        elif self._identity is not None and said.identity != self._identity:
            says = "does not say who it is" if said.identity is None else f"says {said.identity!r}"
            return self._stranger(f"it {says}, expected {self._identity!r}", now_ms)
        elif said.pixels is not None and said.pixels < self._pixels:
            return self._stranger(
                f"it has {said.pixels} pixels, the site says {self._pixels}", now_ms
            )
        self._identified, self._stranger_why = True, ""
        return []

    def _stranger(self, why: str, now_ms: int) -> list[Noticed]:
        again, self._stranger_why = self._stranger_why == why, why
        self._contact, self._detail = Contact.STRANGER, why
        self._retry_ms = now_ms + BACKOFF_CAP_MS
        return [] if again else [Noticed(Remark.STRANGER, why)]

    def _read_back(self, places: tuple[Place, ...], body: bytes, now_ms: int) -> list[Noticed]:
        seen = self.dialect.observed(body, places)
        if isinstance(seen, Misread):
            again, self._misread = self._misread == str(seen), str(seen)
            return [] if again else [Noticed(Remark.MISREAD, str(seen))]
        self._misread = ""
        if self.dialect.echoes:
            self._echo = seen.items
        if self._restart.happened(seen.uptime_ms, seen.mark, now_ms):
            return self._restarted()
        return [remark for place in places for remark in self._compared(place, seen, now_ms)]

    def _restarted(self) -> list[Noticed]:
        self.restarts += 1
        self._reads = []
        self._refused.clear()
        for state in self.segments.values():
            state.insisted, state.refused, state.not_before_ms = 0, 0, 0
        self._forget(self.segments.values())
        self._identified = not self.dialect.identifies
        return [Noticed(Remark.RESTARTED)]

    def _forget(self, states: Iterable[SegmentState]) -> None:
        for state in states:
            state.forget()
            self._mark(state)

    def _compared(self, place: Place, seen: Observation, now_ms: int) -> list[Noticed]:
        state = self.segments[place.segment]
        state.seen = seen.seen.get(place.segment, {})
        if state.told is None or state.standing is Standing.NOT_KNOWN:
            return []
        is_gone = place.segment in seen.missing
        unlike = (
            ("segment",) if is_gone else self.dialect.differences(place, state.told, state.seen)
        )
        if not unlike:
            state.standing, state.insisted, state.not_before_ms = Standing.CONFIRMED, 0, 0
            return []
        was_wanted = state.told == state.desired
        self._forget([state])
        return self._insist(state, ", ".join(unlike), now_ms) if was_wanted else []

    def _insist(self, state: SegmentState, unlike: str, now_ms: int) -> list[Noticed]:
        disagreed = state.disagrees
        state.insisted += 1
        if not state.disagrees:
            return [Noticed(Remark.DRIFTED, unlike, state.place.segment)]
        state.not_before_ms = now_ms + BACKOFF_CAP_MS
        return [] if disagreed else [Noticed(Remark.DISAGREES, unlike, state.place.segment)]


def _natives(states: Iterable[SegmentState]) -> Iterable[tuple[SegmentState, Native]]:
    return ((state, state.desired) for state in states if isinstance(state.desired, Native))
