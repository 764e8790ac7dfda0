"""What came of a request: what is known of the controller and its segments afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bridge.lights.contact import AFTER, AWAY, Contact, Noticed, Reached, Remark
from bridge.lights.controller_state import BACKOFF_CAP_MS, ControllerState, Planned
from bridge.lights.dialect.dialect import Misread, Verdict
from bridge.lights.look import Moving
from bridge.lights.place import Place
from bridge.lights.read_back import cannot_be_read, read_back
from bridge.lights.restart import RestartWatch
from bridge.lights.segment import Delivery, SegmentState

_ABOUT_THE_CONTROLLER: Final = frozenset({Verdict.BUSY, Verdict.FAILED})


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer. ``wait_ms`` is what the controller asked for."""

    status: int
    body: bytes
    wait_ms: int | None = None


def answered(
    controller: ControllerState, flight: Planned, reply: Reply, now_ms: int
) -> list[Noticed]:
    """It answered."""
    was = controller.shown_contact
    noticed = _judge(controller, flight, reply, now_ms)
    is_back = was in AWAY and controller.shown_contact is Contact.REACHABLE
    return [Noticed(Remark.BACK), *noticed] if is_back else noticed


def unanswered(
    controller: ControllerState, flight: Planned, *, maybe_applied: bool, why: str, now_ms: int
) -> list[Noticed]:
    """It did not."""
    _back_off(controller, flight, now_ms, None, maybe_applied=maybe_applied)
    _look_before_showing(controller)
    return _reached(controller, Reached.SILENT, why)


def _judge(
    controller: ControllerState, flight: Planned, reply: Reply, now_ms: int
) -> list[Noticed]:
    answer = controller.dialect.answer(flight.purpose, reply.status, reply.body)
    if answer.ok:
        if flight.purpose == "identify":
            return _identity_said(controller, reply.body, now_ms)
        _is_well(controller, now_ms)
        return _taken(controller, flight, reply.body, now_ms)
    must_identify = flight.purpose == "identify" and controller.identity is not None
    if must_identify or reply.wait_ms is not None or answer.verdict in _ABOUT_THE_CONTROLLER:
        _back_off(controller, flight, now_ms, reply.wait_ms)
        return _reached(controller, Reached.REFUSED, str(answer))
    _is_well(controller, now_ms)
    return _refuses(controller, flight, f"{flight.purpose}: {answer}", now_ms)


def _taken(controller: ControllerState, flight: Planned, body: bytes, now_ms: int) -> list[Noticed]:
    if flight.delivery is not None:
        _told(controller, flight.delivery, now_ms)
        return []
    for segment in ("", *(place.segment for place in flight.places)):
        controller.refused.pop((flight.purpose, segment), None)
    match flight.purpose:
        case "define":
            for place in flight.places:
                controller.segments[place.segment].defined = True
        case "capture":
            return [
                each
                for place in flight.places
                for each in _captured(controller, place, body, now_ms)
            ]
        case "master":
            controller.master_due = False
            controller.settled_ms = now_ms + controller.dialect.limits.settles_in_ms
            controller.read_all_ms = min(controller.read_all_ms, controller.settled_ms)
            controller.read_ms = (
                None
                if controller.read_ms is None
                else min(controller.read_ms, controller.settled_ms)
            )
        case "read boot" | "write boot":
            return _boot_answered(controller, flight, body, now_ms)
        case _:
            return read_back(controller, flight.places, body, now_ms)
    return []


def _captured(controller: ControllerState, place: Place, body: bytes, now_ms: int) -> list[Noticed]:
    state = controller.segments[place.segment]
    state.capture_due = False
    if controller.dialect.capturing is None:
        return []
    kept = controller.dialect.capturing.captured(body, place)
    if isinstance(kept, Misread):
        return [Noticed(Remark.NOT_CAPTURED, str(kept), place.segment)]
    state.kept, state.kept_ms = kept, now_ms
    controller.kept_changed.add(place.segment)
    return []


def _boot_answered(
    controller: ControllerState, flight: Planned, body: bytes, now_ms: int
) -> list[Noticed]:
    if controller.boot is None:
        return []
    if flight.purpose == "write boot":
        controller.boot_changed = True
        return [Noticed(Remark.BOOT_WRITTEN)] if controller.boot.written(now_ms) else []
    said = controller.boot.read(flight.places, body, now_ms)
    if isinstance(said, Misread):
        return [Noticed(Remark.MISREAD, f"its look at power-up: {said}")]
    names = {name for unlike in controller.boot.unlike.values() for name in unlike}
    return [Noticed(Remark.BOOT_NOT_KEPT, ", ".join(sorted(names)))] if said else []


# The controller as a whole ------------------------------------------------------------------------


def _reached(controller: ControllerState, what: Reached, why: str = "") -> list[Noticed]:
    before = controller.contact, controller.detail
    controller.contact, remark = AFTER[what]
    controller.detail = why
    return (
        []
        if remark is None or (controller.contact, controller.detail) == before
        else [Noticed(remark, why)]
    )


def _is_well(controller: ControllerState, now_ms: int) -> None:
    _reached(controller, Reached.ANSWERED)
    controller.attempt = 0
    controller.retry_ms = now_ms


def _back_off(
    controller: ControllerState,
    flight: Planned,
    now_ms: int,
    wait_ms: int | None,
    *,
    maybe_applied: bool = True,
) -> None:
    """The whole controller waits."""
    controller.attempt += 1
    controller.retry_ms = now_ms + controller.backoff_ms(controller.name, controller.attempt)
    controller.wait_until_ms = now_ms + min(wait_ms or 0, BACKOFF_CAP_MS)
    again_ms = max(controller.retry_ms, controller.wait_until_ms)
    controller.reads = []
    if controller.read_ms is not None:
        # Whoever comes back after an outage is looked at all over.
        controller.read_all_ms = min(controller.read_all_ms, again_ms)
        controller.read_ms = min(controller.read_ms, again_ms)
    if not controller.dialect.reads:
        # It may have lost its power, and cannot be asked: everything is shown again, the
        # parts that it took before, and what it already showed where that is wanted again.
        controller.forget(controller.segments.values())
    delivery = flight.delivery
    if delivery is None:
        if controller.boot is not None and flight.purpose in {"read boot", "write boot"}:
            controller.boot.unanswered(flight.purpose, now_ms)
            controller.boot_changed = controller.boot_changed or flight.purpose == "write boot"
        return
    if maybe_applied:
        controller.forget([state for state, _ in delivery.looks], anything=False)
    elif controller.dialect.echoes:
        # What is not ours may be read to be something else before it goes again.
        for state, _ in delivery.looks:
            state.abandon()
            controller.mark(state)
    elif not delivery.abandoned:
        delivery.parts.insert(0, flight.prepared)
        for state, _ in delivery.looks:
            controller.mark(state)


def _look_before_showing(controller: ControllerState) -> None:
    """It may have begun anew meanwhile: that is found out by the first reply."""
    if controller.dialect.tells_restart:
        controller.look_first = True
    elif controller.dialect.identifies:
        controller.identified = False


def _refuses(controller: ControllerState, flight: Planned, why: str, now_ms: int) -> list[Noticed]:
    """Only what was refused waits."""
    if flight.delivery is None:
        return _refuses_to_be_asked(controller, flight, why, now_ms)
    noticed: list[Noticed] = []
    controller.forget([state for state, _ in flight.delivery.looks], anything=False)
    for state, look in flight.delivery.looks:
        if state.desired is not None and state.desired.look == look:
            _wait(controller, state, now_ms)
            noticed += _refusal(controller, "show", state.place.segment, why)
    return noticed


def _refuses_to_be_asked(
    controller: ControllerState, flight: Planned, why: str, now_ms: int
) -> list[Noticed]:
    match flight.purpose:
        case "define":
            for place in flight.places:
                _wait(controller, controller.segments[place.segment], now_ms)
            return [
                each
                for p in flight.places
                for each in _refusal(controller, "define", p.segment, why)
            ]
        case "capture":
            for place in flight.places:
                controller.segments[place.segment].capture_due = False
            return [Noticed(Remark.NOT_CAPTURED, why, place.segment) for place in flight.places]
        case "master":
            controller.master_not_before_ms = now_ms + BACKOFF_CAP_MS
        case "read boot" | "write boot":
            if controller.boot is not None:
                controller.boot.failed(now_ms)
        case "identify":
            # Without an identity to expect, who it is would only have been nice to know.
            controller.identified = True
        case _:
            cannot_be_read(controller)
    return _refusal(controller, flight.purpose, "", why)


def _wait(controller: ControllerState, state: SegmentState, now_ms: int) -> None:
    state.refused += 1
    state.not_before_ms = now_ms + controller.backoff_ms(
        f"{controller.name}/{state.place.segment}", state.refused
    )


def _refusal(controller: ControllerState, purpose: str, segment: str, why: str) -> list[Noticed]:
    again = controller.refused.get((purpose, segment)) == why
    controller.refused[purpose, segment] = why
    return [] if again else [Noticed(Remark.REFUSING, why, segment)]


# Who it is ----------------------------------------------------------------------------------------


def _identity_said(controller: ControllerState, body: bytes, now_ms: int) -> list[Noticed]:
    why = _why_another(controller, body)
    if why is None:
        controller.refused.pop(("identify", ""), None)
        controller.identified, controller.stranger_why = True, ""
        _is_well(controller, now_ms)
        return []
    again, controller.stranger_why = controller.stranger_why == why, why
    _forget_all(controller)
    controller.attempt = 0
    controller.retry_ms = now_ms + BACKOFF_CAP_MS
    _reached(controller, Reached.ANOTHER, why)
    return [] if again else [Noticed(Remark.STRANGER, why)]


def _forget_all(controller: ControllerState) -> None:
    """What was told and read may have been the other's: of the one that is named nothing is known.

    What is not ours above all: it must not be given what the other showed.
    """
    controller.echo, controller.restart = None, RestartWatch()
    for state in controller.segments.values():
        state.defined = None
    controller.forget(controller.segments.values())


def _why_another(controller: ControllerState, body: bytes) -> str | None:
    """Why it is not the one that the site names; ``None`` where it is."""
    said = controller.dialect.identity(body)
    if isinstance(said, Misread):
        return (
            None if controller.identity is None else f"its answer could not be understood: {said}"
        )
    if controller.identity is not None and said.identity != controller.identity:
        if said.identity is None:
            return f"it does not say who it is, expected {controller.identity!r}"
        other = controller.others.get(said.identity)
        swapped = "" if other is None else f"; that is {other}, are the two swapped?"
        return f"it says {said.identity!r}, expected {controller.identity!r}{swapped}"
    if said.pixels is not None and said.pixels < controller.pixels:
        return f"it has {said.pixels} pixels, the site says {controller.pixels}"
    return None


# What was told ------------------------------------------------------------------------------------


def _told(controller: ControllerState, delivery: Delivery, now_ms: int) -> None:
    # What is given back comes as somebody had set it, and is not told to fade.
    looks = [] if delivery.purpose == "restore" else [look for _, look in delivery.looks]
    fade_ms = max(map(controller.dialect.fade_ms, looks), default=0)
    controller.settled_ms = now_ms + controller.dialect.limits.settles_in_ms + fade_ms
    if controller.read_due(now_ms):
        controller.shows_since_due += 1
    is_compared = not all(isinstance(look, Moving) for _, look in delivery.looks)
    if controller.read_ms is not None and is_compared:
        controller.read_ms = min(controller.read_ms, controller.settled_ms)
    for state, look in delivery.looks:
        if delivery.parts:
            # A part of it is there: what it shows is a mixture, and where the look changed
            # while the part was under way, it stays one until it is shown anew.
            state.part_taken(now_ms)
        elif delivery.purpose == "restore":
            state.give_back(look, now_ms)
            controller.kept_changed.add(state.place.segment)
        else:
            state.tell(look, now_ms, delivery.frame)
            if controller.dialect.lasts_ms is not None:
                state.renew_ms = now_ms + controller.dialect.lasts_ms // 2
            controller.refused.pop(("show", state.place.segment), None)
        controller.mark(state)
