"""What came of a request: what is known of the controller and its segments afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bridge.lights.contact import AFTER, AWAY, Contact, Noticed, Reached, Remark
from bridge.lights.controller_state import BACKOFF_CAP_MS, ControllerState, Planned
from bridge.lights.dialect.dialect import Misread, Verdict
from bridge.lights.look import Look, Moving
from bridge.lights.place import Place
from bridge.lights.read_back import cannot_be_read, read_back
from bridge.lights.segment import Delivery, SegmentState

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
    for segment in ("", *(place.segment for place in flight.places)):
        c.refused.pop((flight.purpose, segment), None)
    match flight.purpose:
        case "define":
            for place in flight.places:
                c.segments[place.segment].defined = True
        case "capture":
            return [each for place in flight.places for each in _captured(c, place, body, now_ms)]
        case "master":
            c.master_due = False
            c.settled_ms = now_ms + c.dialect.limits.settles_in_ms
            c.read_all_ms = min(c.read_all_ms, c.settled_ms)
            c.read_ms = None if c.read_ms is None else min(c.read_ms, c.settled_ms)
        case "read boot" | "write boot":
            return _boot_answered(c, flight, body, now_ms)
        case _:
            return read_back(c, flight.places, body, now_ms)
    return []


def _captured(c: ControllerState, place: Place, body: bytes, now_ms: int) -> list[Noticed]:
    state = c.segments[place.segment]
    state.capture_due = False
    if c.dialect.capturing is None:
        return []
    kept = c.dialect.capturing.captured(body, place)
    if isinstance(kept, Misread):
        return [Noticed(Remark.NOT_CAPTURED, str(kept), place.segment)]
    state.kept, state.kept_ms = kept, now_ms
    c.kept_changed.add(place.segment)
    return []


def _boot_answered(c: ControllerState, flight: Planned, body: bytes, now_ms: int) -> list[Noticed]:
    if c.boot is None:
        return []
    if flight.purpose == "write boot":
        c.boot_changed = True
        return [Noticed(Remark.BOOT_WRITTEN)] if c.boot.written(now_ms) else []
    said = c.boot.read(flight.places, body, now_ms)
    if isinstance(said, Misread):
        return [Noticed(Remark.MISREAD, f"its look at power-up: {said}")]
    names = {name for unlike in c.boot.unlike.values() for name in unlike}
    return [Noticed(Remark.BOOT_NOT_KEPT, ", ".join(sorted(names)))] if said else []


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
        if c.boot is not None and flight.purpose in {"read boot", "write boot"}:
            c.boot.unanswered(flight.purpose, now_ms)
            c.boot_changed = c.boot_changed or flight.purpose == "write boot"
        return
    if maybe_applied:
        c.forget([state for state, _ in delivery.looks], anything=False)
    elif c.dialect.echoes:
        # What is not ours may be read to be something else before it goes again.
        for state, _ in delivery.looks:
            state.abandon()
            c.mark(state)
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
        return _refuses_to_be_asked(c, flight, why, now_ms)
    noticed: list[Noticed] = []
    c.forget([state for state, _ in flight.delivery.looks], anything=False)
    for state, look in flight.delivery.looks:
        if state.desired is not None and state.desired.look == look:
            _wait(c, state, now_ms)
            noticed += _refusal(c, "show", state.place.segment, why)
    return noticed


def _refuses_to_be_asked(
    c: ControllerState, flight: Planned, why: str, now_ms: int
) -> list[Noticed]:
    match flight.purpose:
        case "define":
            for place in flight.places:
                _wait(c, c.segments[place.segment], now_ms)
            return [each for p in flight.places for each in _refusal(c, "define", p.segment, why)]
        case "capture":
            for place in flight.places:
                c.segments[place.segment].capture_due = False
            return [Noticed(Remark.NOT_CAPTURED, why, place.segment) for place in flight.places]
        case "master":
            c.master_not_before_ms = now_ms + BACKOFF_CAP_MS
        case "read boot" | "write boot":
            if c.boot is not None:
                c.boot.failed(now_ms)
        case "identify":
            # Without an identity to expect, who it is would only have been nice to know.
            c.identified = True
        case _:
            cannot_be_read(c)
    return _refusal(c, flight.purpose, "", why)


def _wait(c: ControllerState, state: SegmentState, now_ms: int) -> None:
    state.refused += 1
    state.not_before_ms = now_ms + c.backoff_ms(f"{c.name}/{state.place.segment}", state.refused)


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
        elif delivery.purpose == "restore":
            state.give_back(look, now_ms)
            c.kept_changed.add(state.place.segment)
        else:
            state.tell(look, now_ms, delivery.frame)
            if c.dialect.lasts_ms is not None:
                state.renew_ms = now_ms + c.dialect.lasts_ms // 2
            c.refused.pop(("show", state.place.segment), None)
        c.mark(state)


def _fade_ms(look: Look) -> int:
    return 0 if isinstance(look, Moving) else look.fade_ms
