"""Bugs planted in what keeps the controllers right."""

# ruff: noqa: ANN401 - a plant stands in for methods of every shape

from __future__ import annotations

from typing import Any, Final

import pytest

from bridge.engine import powering
from bridge.engine.powering import Supplied
from bridge.lights import choosing, outcomes, power, read_back, reconcile, segment
from bridge.lights.contact import Noticed
from bridge.lights.controller_state import ControllerState
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Moving, Still
from bridge.lights.reconcile import Reconciler
from bridge.lights.restart import Began, RestartWatch
from bridge.lights.segment import SegmentState
from tests.campaign.planting import Planted, wrap


def two_in_flight(patch: pytest.MonkeyPatch) -> None:
    """Nobody waits for the reply to a read."""
    applying = choosing._applying  # noqa: SLF001 - the bug is planted in it

    def all_that_apply(c: Any, now_ms: int) -> Any:
        waiting = dict(c.flights)
        for number, (planned, _) in waiting.items():
            if planned.purpose == "read":
                del c.flights[number]
        found = list(applying(c, now_ms))
        c.flights.update(waiting)
        return found

    def in_flight(c: Any, state: Any) -> bool:
        shows = (planned for planned, _ in c.flights.values() if planned.purpose != "read")
        return any(state.place in planned.places for planned in shows)

    patch.setattr(choosing, "_applying", all_that_apply)
    patch.setattr(ControllerState, "in_flight", in_flight)


def asks_to_be_called_again(patch: pytest.MonkeyPatch) -> None:
    """It wants to send at once what it must wait with, and is called again and again."""
    patch.setattr(reconcile, "ready_ms", lambda _, now_ms: now_ms)


def told_stays_after_no_answer(patch: pytest.MonkeyPatch) -> None:
    """What was shown before an unanswered request is believed to show still."""
    back_off = outcomes._back_off  # noqa: SLF001 - the bug is planted in it

    def believing(c: Any, *args: Any, **named: Any) -> None:
        before = {name: state.standing for name, state in c.segments.items()}
        back_off(c, *args, **named)
        for name, state in c.segments.items():
            state.standing = before[name]
            c.mark(state)

    patch.setattr(outcomes, "_back_off", believing)


def restart_shows_nothing(patch: pytest.MonkeyPatch) -> None:
    """A restart is noticed, and nothing comes of it."""
    patch.setattr(read_back, "_restarted", lambda _: [])


def restart_goes_unseen(patch: pytest.MonkeyPatch) -> None:
    """Neither uptime nor mark are looked at, and what is read back is believed to be told."""
    patch.setattr(RestartWatch, "happened", lambda *_: Began.AS_BEFORE)
    patch.setattr(read_back, "_compared", lambda *_: [])


def read_back_not_compared(patch: pytest.MonkeyPatch) -> None:
    """A segment that shows something else is never corrected."""
    patch.setattr(read_back, "_compared", lambda *_: [])


def newest_counts_as_sent(patch: pytest.MonkeyPatch) -> None:
    """An answer is taken for the look that is wanted by now, not for the one that was sent."""

    def tell(original: Any, self: Any, _: Any, *args: Any) -> None:
        original(self, self.desired.look, *args)

    wrap(patch, SegmentState, "tell", tell)


def busy_is_deaf(patch: pytest.MonkeyPatch) -> None:
    """A decision that comes while a request is in flight is lost."""

    def desire(original: Any, self: Any, *args: Any) -> bool:
        return not self.busy and bool(original(self, *args))

    wrap(patch, Reconciler, "desire", desire)


def silence_unreported(patch: pytest.MonkeyPatch) -> None:
    """Nobody is told of a controller that does not answer."""

    def unanswered(original: Any, self: Any, **named: Any) -> list[Noticed]:
        original(self, **named)
        return []

    wrap(patch, Reconciler, "unanswered", unanswered)


def not_ours_left_out(patch: pytest.MonkeyPatch) -> None:
    """Where everything has to be told, only ours is."""

    def show(original: Any, self: Any, items: Any, _: Any = ()) -> Any:
        return original(self, items)

    wrap(patch, Dialect, "show", show)


def echo_of_the_first_read(patch: pytest.MonkeyPatch) -> None:
    """What is not ours is told as it was when the bridge began."""
    read = read_back.read_back

    def first(c: Any, *args: Any) -> Any:
        before, noticed = c.echo, read(c, *args)
        c.echo = before or c.echo
        return noticed

    patch.setattr(outcomes, "read_back", first)


def never_left_goes_again_as_it_was(patch: pytest.MonkeyPatch) -> None:
    """What never left is kept, and sent when its controller is back, whatever was read since."""
    back_off = outcomes._back_off  # noqa: SLF001 - the bug is planted in it

    def keeping(c: Any, flight: Any, *args: Any, maybe_applied: bool = True) -> None:
        back_off(c, flight, *args, maybe_applied=maybe_applied)
        delivery = flight.delivery
        if delivery is not None and c.dialect.echoes and not maybe_applied:
            delivery.abandoned = False
            delivery.parts.insert(0, flight.prepared)
            for state, _ in delivery.looks:
                state.delivery = delivery

    patch.setattr(outcomes, "_back_off", keeping)


def whoever_answers_is_right(patch: pytest.MonkeyPatch) -> None:
    """It is asked who it is, and nobody looks at what it says."""
    patch.setattr(outcomes, "_why_another", lambda *_: None)


def stranger_unreported(patch: pytest.MonkeyPatch) -> None:
    """It is left alone, and nobody hears why."""
    said = outcomes._identity_said  # noqa: SLF001 - the bug is planted in it

    def unsaid(c: Any, *args: Any) -> list[Noticed]:
        said(c, *args)
        return []

    patch.setattr(outcomes, "_identity_said", unsaid)


def shown_before_it_is_asked(patch: pytest.MonkeyPatch) -> None:
    """After an outage what is wanted goes at once, whoever answers now."""
    patch.setattr(outcomes, "_look_before_showing", lambda _: None)


def what_another_showed_is_given_back(patch: pytest.MonkeyPatch) -> None:
    """What was read of a stranger is taken for what the right one showed."""
    patch.setattr(outcomes, "_forget_all", lambda _: None)


def flashes_as_fast_as_it_takes(patch: pytest.MonkeyPatch) -> None:
    """A painted flash goes at whatever pace a quick controller bears."""

    def period(original: Any, self: Any, look: Any) -> Any:
        return 200 if self.dialect.limits.requests >= 10 else original(self, look)

    wrap(patch, ControllerState, "period_of", period)
    patch.setattr(segment, "LEAST_CHANGE_MS", 1)


def raised_before_it_is_lowered(patch: pytest.MonkeyPatch) -> None:
    """What should be brighter is told so, whether or not there is room yet."""

    def fitting(_: Any, self: Any, segment: Any, load: Any, scale: int, room: Any) -> int:  # noqa: ARG001
        return int(load.scale(scale))

    wrap(patch, Supplied, "_fitting", fitting)


def flash_counts_dim(patch: pytest.MonkeyPatch) -> None:
    """A painted flash is taken to draw what its dimmer half does."""

    def drives(look: Any, *args: Any) -> Any:
        return drives_of(Still(look.frames[-1]) if isinstance(look, Moving) else look, *args)

    drives_of = power.drives_of
    patch.setattr(powering, "drives_of", drives)


def on_its_way_is_forgotten(patch: pytest.MonkeyPatch) -> None:
    """What was told and not answered counts as what should show instead of it."""
    patch.setattr(Supplied, "_on_its_way", lambda *_: 0)


LIGHTS_PLANTED: Final = (
    Planted(two_in_flight, ("I5",)),
    Planted(asks_to_be_called_again, ("I9",)),
    Planted(told_stays_after_no_answer, ("I2", "I3"), first=10),
    Planted(restart_shows_nothing, ("I2", "I3", "I7")),
    Planted(restart_goes_unseen, ("I2", "I3")),
    Planted(read_back_not_compared, ("I2", "I3")),
    Planted(newest_counts_as_sent, ("I2", "I6")),
    Planted(busy_is_deaf, ("I2",)),
    Planted(silence_unreported, ("I3",)),
    Planted(not_ours_left_out, ("I7",)),
    Planted(echo_of_the_first_read, ("I7",)),
    Planted(never_left_goes_again_as_it_was, ("I7",), first=6),
    Planted(whoever_answers_is_right, ("I7",)),
    Planted(stranger_unreported, ("I3",)),
    Planted(shown_before_it_is_asked, ("I7",)),
    Planted(what_another_showed_is_given_back, ("I7",)),
    Planted(flashes_as_fast_as_it_takes, ("I6",), first=7),
    Planted(raised_before_it_is_lowered, ("I6",)),
    Planted(flash_counts_dim, ("I6",)),
    Planted(on_its_way_is_forgotten, ("I6",)),
)
