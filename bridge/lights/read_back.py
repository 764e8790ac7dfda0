"""What was read back, against what was told: restarts, the main switch, drift."""

from __future__ import annotations

from bridge.lights.contact import Noticed, Remark
from bridge.lights.controller_state import BACKOFF_CAP_MS, ControllerState
from bridge.lights.dialect.dialect import Misread, Observation
from bridge.lights.look import Moving
from bridge.lights.place import Place
from bridge.lights.restart import Began
from bridge.lights.segment import INSISTS, SegmentState
from bridge.lights.standing import BELIEVED, Incident, Standing, after


def read_back(
    controller: ControllerState, places: tuple[Place, ...], body: bytes, now_ms: int
) -> list[Noticed]:
    """What an answer says of these places, and what follows from it."""
    seen = controller.dialect.observed(body, places)
    if isinstance(seen, Misread):
        again, controller.misread = controller.misread == str(seen), str(seen)
        cannot_be_read(controller)
        return [] if again else [Noticed(Remark.MISREAD, str(seen))]
    controller.misread, controller.look_first = "", False
    if controller.dialect.echoes:
        controller.echo = seen.items
    began = controller.restart.happened(seen.uptime_ms, seen.mark, now_ms)
    if began is Began.ANEW:
        noticed = _restarted(controller)
        for place in places:
            _placed(controller, place, seen)
        return noticed
    if began is Began.ANOTHER:
        # As long awake as the one before cannot be: whoever answers here is to be asked.
        controller.identified = not controller.dialect.identifies
    for place in places:
        _placed(controller, place, seen)
    noticed = _main_compared(controller, seen.main_unlike, now_ms)
    if controller.main_left:
        return noticed
    return [*noticed, *(n for place in places for n in _compared(controller, place, seen, now_ms))]


def _restarted(controller: ControllerState) -> list[Noticed]:
    controller.restarts += 1
    controller.reads = []
    controller.refused.clear()
    for state in controller.segments.values():
        state.insisted, state.refused, state.not_before_ms = 0, 0, 0
        # What was there before it was switched off is nobody's wish any more.
        state.defined, state.kept, state.capture_due = None, None, False
        state.possible = (None,)
    controller.forget(controller.segments.values())
    controller.master_due = controller.dialect.has_master and not controller.dialect.tells_main
    controller.main_left = False
    controller.identified = not controller.dialect.identifies
    return [Noticed(Remark.RESTARTED)]


def _placed(controller: ControllerState, place: Place, seen: Observation) -> None:
    """Whether the controller knows which of its pixels the segment is."""
    state = controller.segments[place.segment]
    if not (controller.dialect.defines and controller.dialect.tells_place):
        return
    values = seen.seen.get(place.segment, {})
    is_there = place.segment not in seen.missing
    wrong = controller.dialect.misplaced(place, values) if is_there else ("segment",)
    was, state.defined = state.defined, not wrong
    if wrong and was:
        # What it was told went elsewhere.
        controller.forget([state])


def _main_compared(
    controller: ControllerState, unlike: tuple[str, ...], now_ms: int
) -> list[Noticed]:
    """The main switch and the main brightness: as every segment's look, of all at once."""
    if not unlike:
        controller.main_left, controller.master_due, controller.master_insisted = False, False, 0
        return []
    names = ", ".join(unlike)
    if not any(_insists(state) for state in controller.segments.values()):
        was_left, controller.main_left = controller.main_left, True
        for state in controller.segments.values():
            _happened(controller, state, Incident.LEFT)
        return [] if was_left else [Noticed(Remark.SWITCHED_OFF, f"{names}: left so")]
    controller.master_insisted += 1
    controller.master_due = controller.dialect.has_master
    if controller.master_insisted > INSISTS:
        controller.master_not_before_ms = now_ms + BACKOFF_CAP_MS
    if controller.master_insisted > 1:
        return []
    how = (
        "set right"
        if controller.dialect.has_master
        else "the dialect has no master to set it right"
    )
    return [Noticed(Remark.SWITCHED_OFF, f"{names}: {how}")]


def _insists(state: SegmentState) -> bool:
    desired = state.desired
    return desired is not None and (desired.is_alarm or not (state.yields or desired.hands_back))


def _compared(
    controller: ControllerState, place: Place, seen: Observation, now_ms: int
) -> list[Noticed]:
    state = controller.segments[place.segment]
    state.seen = seen.seen.get(place.segment, {})
    look, desired = state.told, state.desired
    is_left = state.standing is Standing.HANDED_BACK
    if look is None or isinstance(look, Moving) or state.standing is Standing.NOT_KNOWN or is_left:
        return []
    is_gone = place.segment in seen.missing
    unlike = ("segment",) if is_gone else controller.dialect.differences(place, look, state.seen)
    if not unlike:
        state.insisted, state.not_before_ms = 0, 0
        return _happened(controller, state, Incident.AGREES)
    if state.standing not in BELIEVED:
        # Left as it is, or about to be told again.
        return []
    if desired is None or desired.look != look:
        controller.forget([state])
        return []
    # What is not answered is a mistake in the dialect more often than in the controller; but
    # painted pixels may be told only while there are some.
    told = {*state.seen, "pixels"}
    names = ", ".join(
        name if is_gone or name in told else f"{name} (not in the answer)" for name in unlike
    )
    if not _insists(state) and state.standing is Standing.CONFIRMED:
        _happened(controller, state, Incident.LEFT)
        state.possible = (None,)
        return [Noticed(Remark.YIELDED, names, place.segment)]
    return _insist(controller, state, names, now_ms)


def _insist(
    controller: ControllerState, state: SegmentState, unlike: str, now_ms: int
) -> list[Noticed]:
    state.insisted += 1
    state.possible, state.frame = (*state.possible, None), None
    if state.insisted <= INSISTS:
        _happened(controller, state, Incident.CORRECTED)
        return [Noticed(Remark.DRIFTED, unlike, state.place.segment)]
    _happened(controller, state, Incident.GIVEN_UP)
    state.not_before_ms = now_ms + BACKOFF_CAP_MS
    is_first = state.insisted == INSISTS + 1
    return [Noticed(Remark.DISAGREES, unlike, state.place.segment)] if is_first else []


def _happened(
    controller: ControllerState, state: SegmentState, incident: Incident
) -> list[Noticed]:
    state.standing = after(state.standing, incident)
    controller.mark(state)
    return []


def cannot_be_read(controller: ControllerState) -> None:
    """Nothing may wait for what cannot be found out."""
    if controller.look_first:
        # Whether it began anew cannot be found out, but who it is may be.
        controller.look_first, controller.identified = False, not controller.dialect.identifies
    controller.reads = []
    for state in controller.segments.values():
        state.defined = state.defined is True
