"""Keeping one controller right: level-triggered, newest wins.

It holds together what is known of the controller (``controller_state``), what goes next and when
(``choosing``), and what came of it (``outcomes``). It decides; others carry.

Whatever was not answered may have been applied: what the segment shows is then not known, and it
is shown again. A restart forgets everything. What is read back is compared with what was told; a
difference is corrected, and after three corrections that did not stick the segment disagrees.

No answer, or one that is about the controller (busy, failed), makes the whole controller wait; a
request that is refused makes only its own segments wait, so that one look which a controller does
not take cannot keep the others from being shown.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from bridge.lights.boot_look import BootLook
from bridge.lights.choosing import choose, ready_ms
from bridge.lights.contact import AWAY, Contact, Noticed, Remark
from bridge.lights.controller_state import BACKOFF_BASE_MS, ControllerState, Planned
from bridge.lights.desired import Desired
from bridge.lights.dialect.capturing import Kept
from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.limiter import Limiter
from bridge.lights.look import Native
from bridge.lights.outcomes import Reply, answered, unanswered
from bridge.lights.pace import Pace
from bridge.lights.place import Place
from bridge.lights.segment import SegmentState


class Reconciler:
    """One controller: desired against observed.

    Times are milliseconds of the engine's clock. Requests are known by the numbers that the caller
    gives them. ``yields``: segments on which what somebody else set is left until the next
    decision; ``others``: whose identity is whose among the site's controllers; ``keeps_for_ms``:
    segments of which what was there before is given back, and how old that may be; ``boot_look``:
    what it should show by itself at power-up.
    """

    def __init__(  # noqa: PLR0913 - what a site says of a controller
        self,
        name: str,
        dialect: Dialect,
        places: Sequence[Place],
        identity: str | None,
        pixels: int,
        *,
        yields: Collection[str] = (),
        others: Mapping[str, str] | None = None,
        keeps_for_ms: Mapping[str, int] | None = None,
        boot_look: Native | None = None,
    ) -> None:
        limits = dialect.limits
        self.name = name
        self.dialect = dialect
        self._state = ControllerState(
            name,
            dialect,
            {
                place.segment: SegmentState(
                    place,
                    order,
                    yields=place.segment in yields,
                    keeps_for_ms=(keeps_for_ms or {}).get(place.segment),
                )
                for order, place in enumerate(places)
            },
            identity,
            pixels,
            Limiter(limits.requests, limits.window_ms, 0),
            Pace.by_limits(limits),
            others or {},
            identified=not dialect.identifies,
            master_due=dialect.has_master and not dialect.tells_main,
            boot=_boot(dialect, tuple(places), boot_look),
        )

    def start(self, seed: str, now_ms: int) -> None:
        """Begin: the limits count as used up, the first read-back is due at once."""
        limits, state = self.dialect.limits, self._state
        state.seed = seed
        state.limiter = Limiter(limits.requests, limits.window_ms, now_ms)
        state.read_ms = state.read_all_ms = now_ms
        if not self.dialect.reads:
            state.read_ms = None
        if state.boot is not None:
            state.boot.start(now_ms)

    @property
    def segments(self) -> Mapping[str, SegmentState]:
        """Its segments by name."""
        return self._state.segments

    @property
    def attempt(self) -> int:
        """How often in a row it could not be reached."""
        return self._state.attempt

    @property
    def restarts(self) -> int:
        """How often it was seen to begin anew."""
        return self._state.restarts

    @property
    def busy(self) -> bool:
        """Whether a request is in flight."""
        return bool(self._state.flights)

    @property
    def differs(self) -> bool:
        """Whether a segment should show something else than it was told."""
        return bool(self._state.differing)

    @property
    def is_out_of_reach(self) -> bool:
        """Whether nothing that should show can be shown soon."""
        differing = self._state.differing.values()
        return self._state.contact in AWAY or all(s.disagrees or s.refused for s in differing)

    @property
    def contact(self) -> Contact:
        """How it is doing."""
        return self._state.shown_contact

    @property
    def detail(self) -> str:
        """Why it is not doing well."""
        return self._state.detail or next(iter(self._state.refused.values()), "")

    @property
    def slower(self) -> str:
        """Which painted flashes go slower than they should, or stand; empty where none does."""
        return self._state.slower_than_wished()

    def desire(self, segment: str, desired: Desired, now_ms: int) -> bool:
        """What a segment should show; returns whether something may have to go because of it."""
        state = self._state.segments[segment]
        before = state.desired, state.standing
        is_new = state.desire(desired, now_ms)
        if (state.desired, state.standing) == before:
            return False
        self._state.mark(state)
        is_another = before[0] is None or before[0].decision != desired.decision
        if self._state.main_left and is_another and not desired.hands_back:
            self._state.main_left, self._state.master_due = False, self.dialect.has_master
        if is_new and desired.is_new:
            self._hurry(now_ms)
        return is_new or state.differs

    def _hurry(self, now_ms: int) -> None:
        """A new alarm does not wait for the end of a backoff, except of what was asked for."""
        soonest_ms = max(now_ms, self._state.tried_ms + BACKOFF_BASE_MS)
        self._state.retry_ms = min(self._state.retry_ms, soonest_ms)

    @property
    def foreign(self) -> tuple[Json, ...]:
        """What was last read beside our segments, where every show has to send it back."""
        state = self._state
        places = [each.place for each in state.segments.values()]
        return state.dialect.foreign(state.echo or (), places)

    def ready_ms(self, now_ms: int) -> int | None:
        """When the next request can go; ``None`` while none can or none is needed."""
        return ready_ms(self._state, now_ms)

    def choose(self, now_ms: int, number: int = 0) -> Planned | None:
        """The request to send now, charged to the limiter; ``None`` where it must wait."""
        state = self._state
        planned = choose(state, now_ms)
        if planned is not None:
            state.flights[number] = planned, now_ms
            state.tried_ms = now_ms
            state.limiter.charge(now_ms)
        return planned

    def answered(
        self, status: int, body: bytes, wait_ms: int | None, now_ms: int, number: int = 0
    ) -> list[Noticed]:
        """A request was answered; ``wait_ms`` is what the controller asked for."""
        planned, sent_ms = self._state.flights.pop(number, (None, 0))
        if planned is None:
            return []
        self._state.pace.replied(now_ms - sent_ms, now_ms)
        noticed = answered(self._state, planned, Reply(status, body, wait_ms), now_ms)
        return [*noticed, *self._paced()]

    def unanswered(
        self, *, maybe_applied: bool, why: str, now_ms: int, number: int = 0
    ) -> list[Noticed]:
        """A request was not answered."""
        planned, _ = self._state.flights.pop(number, (None, 0))
        if planned is None:
            return []
        return unanswered(self._state, planned, maybe_applied=maybe_applied, why=why, now_ms=now_ms)

    def take_kept(self) -> list[str]:
        """The segments whose kept look is another than when this was last asked."""
        changed = sorted(self._state.kept_changed)
        self._state.kept_changed.clear()
        return changed

    def restore_kept(self, segment: str, kept: str, since_ms: int) -> None:
        """What an earlier start kept of a segment, and when."""
        state = self._state.segments[segment]
        state.kept, state.kept_ms = Kept(kept), since_ms

    def take_boot_writes(self) -> list[int] | None:
        """When its own look was written, where that was since last asked."""
        state = self._state
        if not state.boot_changed or state.boot is None:
            return None
        state.boot_changed = False
        return list(state.boot.written_ms)

    def restore_boot_writes(self, written_ms: list[int]) -> None:
        """When an earlier start wrote its own look."""
        if self._state.boot is not None:
            self._state.boot.written_ms = written_ms

    def _paced(self) -> list[Noticed]:
        """Whether painted flashes go as they should, remarked when that changes."""
        slower = self.slower
        if bool(slower) == self._state.is_slower:
            return []
        self._state.is_slower = bool(slower)
        return [Noticed(Remark.SLOWER if slower else Remark.AS_FAST, slower)]


def _boot(dialect: Dialect, places: tuple[Place, ...], look: Native | None) -> BootLook | None:
    if dialect.booting is None or look is None:
        return None
    looks = tuple((place, look) for place in dialect.booting.places(places))
    return BootLook(dialect.booting, looks)
