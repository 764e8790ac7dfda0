"""What came of a request: what is known of the controller and its segments afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bridge.lights.contact import AFTER, AWAY, Contact, Noticed, Reached, Remark
from bridge.lights.controller_state import BACKOFF_CAP_MS, ControllerState, Planned
from bridge.lights.dialect.dialect import Misread, Observation, Verdict
from bridge.lights.look import Look, Moving
from bridge.lights.place import Place
from bridge.lights.restart import Began
from bridge.lights.segment import INSISTS, Delivery, SegmentState
from bridge.lights.standing import BELIEVED, Incident, Standing, after

_ABOUT_THE_CONTROLLER: Final = frozenset({Verdict.BUSY, Verdict.FAILED})


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer. ``wait_ms`` is what the controller asked for."""

    status: int
    body: bytes
    wait_ms: int | None = None


def answered(c: ControllerState, flight: Planned, reply: Reply, now_ms: int) -> list[Noticed]:
    """It answered."""
    was = c.shown_contact
    noticed = _judge(c, flight, reply, now_ms)
    is_back = was in AWAY and c.shown_contact is Contact.REACHABLE
    return [Noticed(Remark.BACK), *noticed] if is_back else noticed


def unanswered(
    c: ControllerState, flight: Planned, *, maybe_applied: bool, why: str, now_ms: int
) -> list[Noticed]:
    """It did not."""
    _back_off(c, flight, now_ms, None, maybe_applied=maybe_applied)
    _look_before_showing(c)
    return _reached(c, Reached.SILENT, why)


def _judge(c: ControllerState, flight: Planned, reply: Reply, now_ms: int) -> list[Noticed]:
    answer = c.dialect.answer(flight.purpose, reply.status, reply.body)
    if answer.ok:
        if flight.purpose == "identify":
            return _identity_said(c, reply.body, now_ms)
        _is_well(c, now_ms)
        return _taken(c, flight, reply.body, now_ms)
    must_identify = flight.purpose == "identify" and c.identity is not None
    if must_identify or reply.wait_ms is not None or answer.verdict in _ABOUT_THE_CONTROLLER:
        _back_off(c, flight, now_ms, reply.wait_ms)
        return _reached(c, Reached.REFUSED, str(answer))
    _is_well(c, now_ms)
    return _refuses(c, flight, f"{flight.purpose}: {answer}", now_ms)


def _taken(c: ControllerState, flight: Planned, body: bytes, now_ms: int) -> list[Noticed]:
    if flight.delivery is not None:
        _told(c, flight.delivery, now_ms)
        return []
    c.refused.pop((flight.purpose, ""), None)
    return _read_back(c, flight.places, body, now_ms)


# The controller as a whole ------------------------------------------------------------------------


def _reached(c: ControllerState, what: Reached, why: str = "") -> list[Noticed]:
    before = c.contact, c.detail
    c.contact, remark = AFTER[what]
    c.detail = why
    return [] if remark is None or (c.contact, c.detail) == before else [Noticed(remark, why)]


def _is_well(c: ControllerState, now_ms: int) -> None:
    _reached(c, Reached.ANSWERED)
    c.attempt = 0
    c.retry_ms = now_ms


def _back_off(
    c: ControllerState,
    flight: Planned,
    now_ms: int,
    wait_ms: int | None,
    *,
    maybe_applied: bool = True,
) -> None:
    """The whole controller waits."""
    c.attempt += 1
    c.retry_ms = now_ms + c.backoff_ms(c.name, c.attempt)
    c.wait_until_ms = now_ms + min(wait_ms or 0, BACKOFF_CAP_MS)
    again_ms = max(c.retry_ms, c.wait_until_ms)
    c.reads = []
    if c.read_ms is not None:
        # Whoever comes back after an outage is looked at all over.
        c.read_all_ms = min(c.read_all_ms, again_ms)
        c.read_ms = min(c.read_ms, again_ms)
    if not c.dialect.reads:
        # It may have lost its power, and cannot be asked: everything is shown again, the
        # parts that it took before, and what it already showed where that is wanted again.
        c.forget(c.segments.values())
    delivery = flight.delivery
    if delivery is None:
        return
    if maybe_applied:
        c.forget([state for state, _ in delivery.looks], anything=False)
    elif not delivery.abandoned:
        delivery.parts.insert(0, flight.prepared)
        for state, _ in delivery.looks:
            c.mark(state)


def _look_before_showing(c: ControllerState) -> None:
    """It may have begun anew meanwhile: that is found out by the first reply."""
    if c.dialect.tells_restart:
        c.look_first = True
    elif c.dialect.identifies:
        c.identified = False


def _refuses(c: ControllerState, flight: Planned, why: str, now_ms: int) -> list[Noticed]:
    """Only what was refused waits."""
    if flight.delivery is None:
        c.reads = []
        # Without an identity to expect, who it is would only have been nice to know.
        c.identified = c.identified or flight.purpose == "identify"
        return _refusal(c, flight.purpose, "", why)
    noticed: list[Noticed] = []
    c.forget([state for state, _ in flight.delivery.looks], anything=False)
    for state, look in flight.delivery.looks:
        if state.desired is not None and state.desired.look == look:
            segment = state.place.segment
            state.refused += 1
            state.not_before_ms = now_ms + c.backoff_ms(f"{c.name}/{segment}", state.refused)
            noticed += _refusal(c, "show", segment, why)
    return noticed


def _refusal(c: ControllerState, purpose: str, segment: str, why: str) -> list[Noticed]:
    again = c.refused.get((purpose, segment)) == why
    c.refused[purpose, segment] = why
    return [] if again else [Noticed(Remark.REFUSING, why, segment)]


# Who it is ----------------------------------------------------------------------------------------


def _identity_said(c: ControllerState, body: bytes, now_ms: int) -> list[Noticed]:
    why = _why_another(c, body)
    if why is None:
        c.refused.pop(("identify", ""), None)
        c.identified, c.stranger_why = True, ""
        _is_well(c, now_ms)
        return []
    again, c.stranger_why = c.stranger_why == why, why
    c.attempt = 0
    c.retry_ms = now_ms + BACKOFF_CAP_MS
    _reached(c, Reached.ANOTHER, why)
    return [] if again else [Noticed(Remark.STRANGER, why)]


def _why_another(c: ControllerState, body: bytes) -> str | None:
    """Why it is not the one that the site names; ``None`` where it is."""
    said = c.dialect.identity(body)
    if isinstance(said, Misread):
        return None if c.identity is None else f"its answer could not be understood: {said}"
    if c.identity is not None and said.identity != c.identity:
        if said.identity is None:
            return f"it does not say who it is, expected {c.identity!r}"
        other = c.others.get(said.identity)
        swapped = "" if other is None else f"; that is {other}, are the two swapped?"
        return f"it says {said.identity!r}, expected {c.identity!r}{swapped}"
    if said.pixels is not None and said.pixels < c.pixels:
        return f"it has {said.pixels} pixels, the site says {c.pixels}"
    return None


# What was told ------------------------------------------------------------------------------------


def _told(c: ControllerState, delivery: Delivery, now_ms: int) -> None:
    fade_ms = max((_fade_ms(look) for _, look in delivery.looks), default=0)
    c.settled_ms = now_ms + c.dialect.limits.settles_in_ms + fade_ms
    if c.read_due(now_ms):
        c.shows_since_due += 1
    is_compared = not all(isinstance(look, Moving) for _, look in delivery.looks)
    if c.read_ms is not None and is_compared:
        c.read_ms = min(c.read_ms, c.settled_ms)
    for state, look in delivery.looks:
        if delivery.parts:
            # A part of it is there: what it shows is a mixture, and where the look changed
            # while the part was under way, it stays one until it is shown anew.
            state.part_taken(now_ms)
        else:
            state.tell(look, now_ms, delivery.frame)
            c.refused.pop(("show", state.place.segment), None)
        c.mark(state)


def _fade_ms(look: Look) -> int:
    return 0 if isinstance(look, Moving) else look.fade_ms


# What was read back -------------------------------------------------------------------------------


def _read_back(
    c: ControllerState, places: tuple[Place, ...], body: bytes, now_ms: int
) -> list[Noticed]:
    seen = c.dialect.observed(body, places)
    if isinstance(seen, Misread):
        again, c.misread = c.misread == str(seen), str(seen)
        return [] if again else [Noticed(Remark.MISREAD, str(seen))]
    c.misread = ""
    if c.dialect.echoes:
        c.echo = seen.items
    began = c.restart.happened(seen.uptime_ms, seen.mark, now_ms)
    if began is Began.ANEW:
        return _restarted(c)
    if began is Began.ANOTHER:
        # As long awake as the one before cannot be: whoever answers here is to be asked.
        c.identified = not c.dialect.identifies
    return [remark for place in places for remark in _compared(c, place, seen, now_ms)]


def _restarted(c: ControllerState) -> list[Noticed]:
    c.restarts += 1
    c.reads = []
    c.refused.clear()
    for state in c.segments.values():
        state.insisted, state.refused, state.not_before_ms = 0, 0, 0
    c.forget(c.segments.values())
    c.identified = not c.dialect.identifies
    return [Noticed(Remark.RESTARTED)]


def _compared(c: ControllerState, place: Place, seen: Observation, now_ms: int) -> list[Noticed]:
    state = c.segments[place.segment]
    state.seen = seen.seen.get(place.segment, {})
    look, desired = state.told, state.desired
    is_left = state.standing is Standing.HANDED_BACK
    if look is None or isinstance(look, Moving) or state.standing is Standing.NOT_KNOWN or is_left:
        return []
    is_gone = place.segment in seen.missing
    unlike = ("segment",) if is_gone else c.dialect.differences(place, look, state.seen)
    if not unlike:
        state.insisted, state.not_before_ms = 0, 0
        return _happened(c, state, Incident.AGREES)
    if state.standing not in BELIEVED:
        # Left as it is, or about to be told again.
        return []
    if desired is None or desired.look != look:
        c.forget([state])
        return []
    if state.yields and not desired.is_alarm and state.standing is Standing.CONFIRMED:
        _happened(c, state, Incident.LEFT)
        state.possible = (None,)
        return [Noticed(Remark.YIELDED, ", ".join(unlike), place.segment)]
    return _insist(c, state, ", ".join(unlike), now_ms)


def _insist(c: ControllerState, state: SegmentState, unlike: str, now_ms: int) -> list[Noticed]:
    state.insisted += 1
    state.possible, state.frame = (*state.possible, None), None
    if state.insisted <= INSISTS:
        _happened(c, state, Incident.CORRECTED)
        return [Noticed(Remark.DRIFTED, unlike, state.place.segment)]
    _happened(c, state, Incident.GIVEN_UP)
    state.not_before_ms = now_ms + BACKOFF_CAP_MS
    is_first = state.insisted == INSISTS + 1
    return [Noticed(Remark.DISAGREES, unlike, state.place.segment)] if is_first else []


def _happened(c: ControllerState, state: SegmentState, incident: Incident) -> list[Noticed]:
    state.standing = after(state.standing, incident)
    c.mark(state)
    return []
