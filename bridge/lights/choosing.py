"""What goes next to a controller, and when.

``STEPS`` are the rules in their order, and the first whose time has come decides. A gate lets
nothing behind it pass while it applies. Whatever is no show goes alone; of shows as many are under
way as the dialect bears, one for a segment.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from bridge.lights.controller_state import ControllerState, Planned
from bridge.lights.look import Moving, Native, Still
from bridge.lights.segment import Delivery, SegmentState
from bridge.lights.standing import LEFT_ALONE, Standing

#: How many shows may go while a read-back is due.
SHOWS_BEFORE_READ: Final = 4
_SHOWS: Final = frozenset({"show", "paint", "restore"})


@dataclass(frozen=True, slots=True)
class Step:
    """One rule: when it wants something to go (``None``: not at all), and what."""

    what: str
    when: Callable[[ControllerState, int], int | None]
    plan: Callable[[ControllerState, int], Planned | None]
    gate: bool = True
    alone: bool = True


def ready_ms(controller: ControllerState, now_ms: int) -> int | None:
    """When the next request can go; ``None`` where none is needed before something happens."""
    wanted = [at for at, _ in _applying(controller, now_ms)]
    if not wanted:
        return None
    return controller.limiter.next_slot(
        max(min(wanted), controller.retry_ms, controller.wait_until_ms)
    )


def choose(controller: ControllerState, now_ms: int) -> Planned | None:
    """The request to send now; ``None`` where it must wait."""
    if (
        controller.limiter.next_slot(max(now_ms, controller.retry_ms, controller.wait_until_ms))
        > now_ms
    ):
        return None
    for at, step in _applying(controller, now_ms):
        if at <= now_ms:
            planned = step.plan(controller, now_ms)
            if planned is not None:
                return planned
    return None


def _applying(controller: ControllerState, now_ms: int) -> Iterable[tuple[int, Step]]:
    """The steps that can go beside what is under way, up to the first gate."""
    flights = len(controller.flights)
    only_shows = all(planned.purpose in _SHOWS for planned, _ in controller.flights.values())
    if flights >= controller.dialect.limits.in_flight or not only_shows:
        return
    for step in STEPS:
        at = step.when(controller, now_ms)
        if at is None:
            continue
        if flights and step.alone:
            if step.gate:
                return
            continue
        yield at, step
        if step.gate:
            return


# Before anything is shown -------------------------------------------------------------------------


def _identify_ms(controller: ControllerState, now_ms: int) -> int | None:
    return None if controller.identified else now_ms


def _plan_identify(controller: ControllerState, _: int) -> Planned:
    return Planned("identify", controller.dialect.identify())


def _look_first_ms(controller: ControllerState, now_ms: int) -> int | None:
    return now_ms if controller.look_first else None


def _overdue_ms(controller: ControllerState, now_ms: int) -> int | None:
    is_overdue = controller.shows_since_due >= SHOWS_BEFORE_READ and controller.read_due(now_ms)
    return _read_ms(controller, now_ms) if is_overdue else None


def _echo_ms(controller: ControllerState, now_ms: int) -> int | None:
    return _read_ms(controller, now_ms) if controller.differing and controller.awaits_echo else None


def _place_ms(controller: ControllerState, now_ms: int) -> int | None:
    """A read tells which pixels a segment is; whoever is told so needlessly wears out."""
    if not (
        controller.dialect.defines and controller.dialect.tells_place and controller.dialect.reads
    ):
        return None
    is_open = any(state.defined is None for state in controller.differing.values())
    return _read_ms(controller, now_ms) if is_open else None


def _master_ms(controller: ControllerState, now_ms: int) -> int | None:
    return max(now_ms, controller.master_not_before_ms) if controller.master_due else None


def _plan_master(controller: ControllerState, _: int) -> Planned:
    return Planned("master", controller.dialect.master())


# Showing ------------------------------------------------------------------------------------------


def _show_ms(controller: ControllerState, now_ms: int) -> int | None:
    times = [
        state.earliest_ms
        for state in controller.differing.values()
        if not controller.in_flight(state)
    ]
    times += [
        max(state.renew_ms, state.earliest_ms)
        for state in controller.expiring.values()
        if state.renew_ms is not None and not controller.in_flight(state)
    ]
    return max(now_ms, min(times)) if times else None


def _plan_show(controller: ControllerState, now_ms: int) -> Planned | None:
    due = {
        state.place.segment: state
        for state in controller.expiring.values()
        if state.renew_ms is not None and state.renew_ms <= now_ms
    } | controller.differing
    waiting = [s for s in due.values() if s.earliest_ms <= now_ms and not controller.in_flight(s)]
    if not waiting:
        return None
    first = min(waiting, key=lambda state: state.urgency)
    if controller.dialect.defines and first.defined is not True:
        return Planned("define", controller.dialect.define(first.place), (first.place,))
    if first.capture_due and controller.dialect.capturing is not None:
        return Planned("capture", controller.dialect.capturing.capture(first.place), (first.place,))
    delivery = first.delivery or _deliver(controller, first, waiting, now_ms)
    return _next_part(delivery)


def _next_part(delivery: Delivery) -> Planned:
    places = tuple(state.place for state, _ in delivery.looks)
    return Planned(delivery.purpose, delivery.parts.pop(0), places, delivery)


def _deliver(
    controller: ControllerState, first: SegmentState, waiting: list[SegmentState], now_ms: int
) -> Delivery:
    if first.desired is None:
        raise LookupError(f"nothing is desired of {first.place.segment}")
    look, kept = first.desired.look, first.to_give_back(now_ms)
    if kept is not None and controller.dialect.capturing is not None:
        parts = [controller.dialect.capturing.restore(first.place, kept)]
        delivery = Delivery("restore", ((first, look),), parts)
        first.send(delivery, look)
        return delivery
    if isinstance(look, Native):
        looks = _together(controller, first, look, waiting)
        items = [(state.place, native) for state, native in looks]
        show = controller.dialect.show(items, controller.echo or ())
        delivery = Delivery("show", looks, [show, *controller.dialect.after_show(items)])
        for state, native in looks:
            state.send(delivery, native)
        return delivery
    if isinstance(look, Moving) and first.told != look:
        # It begins with the frame that must not be overlooked, however long it had to wait.
        first.began_ms = now_ms
    return _paint(controller, first, look, now_ms)


def _paint(
    controller: ControllerState, state: SegmentState, look: Still | Moving, now_ms: int
) -> Delivery:
    period_ms = controller.period_of(look) if isinstance(look, Moving) else None
    frame = state.frame_of(look, period_ms, now_ms)
    # Where nothing differs from what is known, it is painted whole: that is a renewal.
    fade_ms = 0 if isinstance(look, Moving) else look.fade_ms
    parts = controller.dialect.paint(
        state.place, frame, state.frame_before(), fade_ms
    ) or controller.dialect.paint(state.place, frame, None, fade_ms)
    if isinstance(look, Moving):
        controller.frame_requests[state.place.segment] = len(parts)
    delivery = Delivery("paint", ((state, look),), list(parts), frame=frame)
    state.send(delivery, look)
    return delivery


def _together(
    controller: ControllerState, first: SegmentState, look: Native, waiting: list[SegmentState]
) -> tuple[tuple[SegmentState, Native], ...]:
    """The segments that one show carries. What was refused goes alone, lest it spoil others."""
    if controller.dialect.echoes:
        # Others would be sent as they were last read, which may be older than what we told.
        return tuple(
            _natives(s for s in controller.segments.values() if s.standing not in LEFT_ALONE)
        )
    if not controller.dialect.batch or first.refused:
        return ((first, look),)
    fresh = [state for state in waiting if not state.refused]
    looks = tuple(_natives(sorted(fresh, key=lambda state: state.urgency)))
    return looks[: controller.dialect.fitting([(state.place, native) for state, native in looks])]


def _natives(states: Iterable[SegmentState]) -> Iterable[tuple[SegmentState, Native]]:
    for state in states:
        if state.desired is not None and isinstance(state.desired.look, Native):
            yield state, state.desired.look


# Frames that follow each other --------------------------------------------------------------------


def _frame_ms(controller: ControllerState, now_ms: int) -> int | None:
    times = [_frame_of_ms(controller, state, now_ms) for state in controller.moving.values()]
    return min((at for at in times if at is not None), default=None)


def _frame_of_ms(controller: ControllerState, state: SegmentState, now_ms: int) -> int | None:
    """When its next frame goes.

    One that must not stay goes only where the limits let the next one follow in time: whatever
    comes in between, the light is not left in the dimmer half of a flash.
    """
    look = state.told
    if not isinstance(look, Moving) or controller.in_flight(state):
        return None
    period_ms = controller.period_of(look)
    at = state.next_frame_ms(period_ms, now_ms)
    if at is None or period_ms is None:
        return at
    slot_ms = controller.limiter.next_slot(max(at, controller.retry_ms, controller.wait_until_ms))
    since_ms, step_ms = slot_ms - state.began_ms, period_ms // len(look.frames)
    is_first = look.number_at(since_ms, period_ms) == 0
    if is_first or controller.limiter.slot_after(slot_ms) <= slot_ms + step_ms:
        return at
    return state.began_ms + look.next_ms(since_ms, period_ms)


def _plan_frame(controller: ControllerState, now_ms: int) -> Planned | None:
    waiting = []
    for state in controller.moving.values():
        at = _frame_of_ms(controller, state, now_ms)
        if at is not None and at <= now_ms:
            waiting.append(state)
    if not waiting:
        return None
    # The one that changed longest ago, lest one of two that are as grave stands still.
    first = min(waiting, key=lambda state: (state.urgency[1], state.quiet_until_ms, state.order))
    if not isinstance(first.told, Moving):
        return None
    return _next_part(_paint(controller, first, first.told, now_ms))


# Reading back -------------------------------------------------------------------------------------


def _read_ms(controller: ControllerState, now_ms: int) -> int | None:
    if controller.reads:
        return max(now_ms, controller.settled_ms)
    return (
        None
        if controller.read_ms is None
        else max(now_ms, controller.read_ms, controller.settled_ms)
    )


def _plan_read(controller: ControllerState, now_ms: int) -> Planned | None:
    if not controller.reads:
        _begin_read(controller, now_ms)
    controller.shows_since_due = 0
    return controller.reads.pop(0) if controller.reads else None


def _begin_read(controller: ControllerState, now_ms: int) -> None:
    """Everything once in a while, in between what was told and not yet confirmed."""
    everything = controller.read_all_ms <= now_ms or controller.look_first
    states = [s for s in controller.segments.values() if everything or _waits_for_reading(s)]
    if everything:
        controller.read_all_ms = now_ms + controller.dialect.read_every_ms
        for state in controller.moving.values():
            # Moving pixels are not compared: once in a while they are painted whole.
            state.paint_whole = True
    controller.read_ms = controller.read_all_ms
    painted = {s.place.segment for s in states if isinstance(s.told, Still | Moving)}
    reads = controller.dialect.reads_for([s.place for s in states], painted)
    controller.reads = [Planned("read", prepared, about) for prepared, about in reads]


def _waits_for_reading(state: SegmentState) -> bool:
    return state.standing in {Standing.TOLD, Standing.RETOLD} and not isinstance(state.told, Moving)


# At power-up --------------------------------------------------------------------------------------


def _boot_ms(controller: ControllerState, now_ms: int) -> int | None:
    return None if controller.boot is None else controller.boot.when_ms(now_ms)


def _plan_boot(controller: ControllerState, now_ms: int) -> Planned | None:
    request = None if controller.boot is None else controller.boot.plan(now_ms)
    if request is None:
        return None
    return Planned(request.purpose, request.prepared, request.places)


STEPS: Final = (
    Step("who it is", _identify_ms, _plan_identify),
    Step("whether it began anew", _look_first_ms, _plan_read),
    Step("what is overdue to be read", _overdue_ms, _plan_read),
    Step("what is not ours", _echo_ms, _plan_read),
    Step("which pixels a segment is", _place_ms, _plan_read),
    Step("the main switch", _master_ms, _plan_master),
    Step("what differs", _show_ms, _plan_show, gate=False, alone=False),
    Step("the next frame", _frame_ms, _plan_frame, gate=False, alone=False),
    Step("what is due to be read", _read_ms, _plan_read, gate=False),
    Step("what it shows at power-up", _boot_ms, _plan_boot, gate=False),
)
