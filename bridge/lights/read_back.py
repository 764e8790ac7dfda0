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
    c: ControllerState, places: tuple[Place, ...], body: bytes, now_ms: int
) -> list[Noticed]:
    """What an answer says of these places, and what follows from it."""
    seen = c.dialect.observed(body, places)
    if isinstance(seen, Misread):
        again, c.misread = c.misread == str(seen), str(seen)
        cannot_be_read(c)
        return [] if again else [Noticed(Remark.MISREAD, str(seen))]
    c.misread = ""
    if c.dialect.echoes:
        c.echo = seen.items
    began = c.restart.happened(seen.uptime_ms, seen.mark, now_ms)
    if began is Began.ANEW:
        noticed = _restarted(c)
        for place in places:
            _placed(c, place, seen)
        return noticed
    if began is Began.ANOTHER:
        # As long awake as the one before cannot be: whoever answers here is to be asked.
        c.identified = not c.dialect.identifies
    for place in places:
        _placed(c, place, seen)
    noticed = _main_compared(c, seen.main_unlike, now_ms)
    if c.main_left:
        return noticed
    return [*noticed, *(n for place in places for n in _compared(c, place, seen, now_ms))]


def _restarted(c: ControllerState) -> list[Noticed]:
    c.restarts += 1
    c.reads = []
    c.refused.clear()
    for state in c.segments.values():
        state.insisted, state.refused, state.not_before_ms = 0, 0, 0
        # What was there before it was switched off is nobody's wish any more.
        state.defined, state.kept, state.capture_due = None, None, False
        state.possible = (None,)
    c.forget(c.segments.values())
    c.master_due = c.dialect.has_master and not c.dialect.tells_main
    c.main_left = False
    c.identified = not c.dialect.identifies
    return [Noticed(Remark.RESTARTED)]


def _placed(c: ControllerState, place: Place, seen: Observation) -> None:
    """Whether the controller knows which of its pixels the segment is."""
    state = c.segments[place.segment]
    if not (c.dialect.defines and c.dialect.tells_place):
        return
    values = seen.seen.get(place.segment, {})
    is_there = place.segment not in seen.missing
    wrong = c.dialect.misplaced(place, values) if is_there else ("segment",)
    was, state.defined = state.defined, not wrong
    if wrong and was:
        # What it was told went elsewhere.
        c.forget([state])


def _main_compared(c: ControllerState, unlike: tuple[str, ...], now_ms: int) -> list[Noticed]:
    """The main switch and the main brightness: as every segment's look, of all at once."""
    if not unlike:
        c.main_left, c.master_due, c.master_insisted = False, False, 0
        return []
    names = ", ".join(unlike)
    if not any(_insists(state) for state in c.segments.values()):
        was_left, c.main_left = c.main_left, True
        for state in c.segments.values():
            _happened(c, state, Incident.LEFT)
        return [] if was_left else [Noticed(Remark.SWITCHED_OFF, f"{names}: left so")]
    c.master_insisted += 1
    c.master_due = c.dialect.has_master
    if c.master_insisted > INSISTS:
        c.master_not_before_ms = now_ms + BACKOFF_CAP_MS
    if c.master_insisted > 1:
        return []
    how = "set right" if c.dialect.has_master else "the dialect has no master to set it right"
    return [Noticed(Remark.SWITCHED_OFF, f"{names}: {how}")]


def _insists(state: SegmentState) -> bool:
    desired = state.desired
    return desired is not None and (desired.is_alarm or not (state.yields or desired.hands_back))


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
    if not _insists(state) and state.standing is Standing.CONFIRMED:
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


def cannot_be_read(c: ControllerState) -> None:
    """Nothing may wait for what cannot be found out."""
    c.reads = []
    for state in c.segments.values():
        state.defined = state.defined is True
