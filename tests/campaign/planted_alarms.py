"""Bugs of alarms, prompts, wishes and of what is kept: planted like those of ``planted``."""

# ruff: noqa: ANN401 - a plant stands in for methods of every shape

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

import pytest

from bridge.engine.deciding import Deciding
from bridge.engine.holding import Holding
from bridge.engine.keeping import Keeping
from bridge.engine.minding import Minding
from bridge.facts.truth import Truth
from bridge.facts.values import Unknown
from bridge.rules.alarm_records import Change, Occurrences
from bridge.rules.alarm_states import DELAYED, State
from bridge.rules.alarming import AlarmMachine
from bridge.rules.lasting import Lasted
from bridge.rules.prompting import PromptMachine
from bridge.rules.shelving import Overlays
from bridge.rules.withheld import Withheld
from tests.campaign.planting import Planted, wrap


def every_message_restarts_the_delay(patch: pytest.MonkeyPatch) -> None:
    """The on-delay begins anew with whatever is heard."""

    def judge(original: Any, self: Any, truth: Truth, now: Any) -> Any:
        changes = original(self, truth, now)
        if self.state is State.NORMAL:
            self._since_ms = now.ms
        return changes

    wrap(patch, AlarmMachine, "judge", judge)
    # Whatever changes, every alarm is judged anew.
    patch.setattr(
        "bridge.engine.mind._touched", lambda by, _: list({e: 0 for es in by.values() for e in es})
    )


def late_acknowledgement_silences(patch: pytest.MonkeyPatch) -> None:
    """An acknowledgement of an occurrence that is over is taken for the one that stands."""

    def wish(original: Any, self: Any, signal: Any, occurrence: str, *args: Any) -> Any:
        last = self.acknowledged
        if last is not None and last.occurrence == occurrence and self.occurrence:
            occurrence = self.occurrence
        return original(self, signal, occurrence, *args)

    wrap(patch, AlarmMachine, "_wish", wish)


def record_of_the_transition(patch: pytest.MonkeyPatch) -> None:
    """A record says what was before the change, not what is."""

    def say(original: Any, self: Any, kind: Any, at: Any, was: Any = None, **named: Any) -> Change:
        change: Change = original(self, kind, at, was, **named)
        before: Any = replace(self.record(at), state=State(change.before))
        return replace(change, record=before)

    wrap(patch, AlarmMachine, "_say", say)


def unknown_is_returned(patch: pytest.MonkeyPatch) -> None:
    """What cannot be known counts as gone."""
    returns = {
        (state, Truth.UNKNOWN): signal
        for (state, truth), signal in DELAYED.items()
        if truth is Truth.FALSE
    }
    patch.setattr("bridge.rules.alarming.DELAYED", DELAYED | returns)


def returned_is_not_raised_again(patch: pytest.MonkeyPatch) -> None:
    """A latched alarm does not come back."""
    raises = {key: signal for key, signal in DELAYED.items() if key[0] is not State.LATCHED}
    patch.setattr("bridge.rules.alarming.DELAYED", raises)


def hold_over_a_new_alarm(patch: pytest.MonkeyPatch) -> None:
    """A hold hides what nobody acknowledged."""

    def choice(original: Any, self: Any, segment: Any, now: Any) -> Any:
        held = self._holding.scene(segment.name)
        if held is None:
            return original(self, segment, now)
        return self._plain(segment, self._site.scenes[held], "it is held", now)

    wrap(patch, Deciding, "_choice", choice)


def restored_shelf_acts_at_once(patch: pytest.MonkeyPatch) -> None:
    """A shelf of before hides its alarm before the clock is known."""

    def symbol(self: Any) -> str | None:
        if self._out is not None and self._out.awaits is None:
            return "out-of-service"
        return "shelved" if self._shelf is not None and self._shelf.awaits is None else None

    patch.setattr(Overlays, "symbol", property(symbol))


def restored_hold_acts_at_once(patch: pytest.MonkeyPatch) -> None:
    """So does a hold."""

    def scene(_: Any, self: Any, segment: str) -> str | None:
        held = self.held.get(segment)
        held = held if held is None or held.confirmed else held.instead
        return None if held is None else held.scene

    wrap(patch, Holding, "scene", scene)


def shown_before_it_is_kept(patch: pytest.MonkeyPatch) -> None:
    """An acknowledgement changes the lamp at once."""
    patch.setattr(Withheld, "withhold", lambda *_: None)


def answered_before_it_is_kept(patch: pytest.MonkeyPatch) -> None:
    """Whoever wishes is told that it is kept when it is only on its way."""

    def state(
        original: Any, self: Any, record: Any, now: Any, confirmed: Any = None, **named: Any
    ) -> None:
        original(self, record, now, None, **named)
        if confirmed is not None:
            confirmed(self.keeps, now)

    wrap(patch, Keeping, "state", state)


def refusal_of_the_disk_unheard(patch: pytest.MonkeyPatch) -> None:
    """What could not be kept is answered as kept."""

    def not_recorded(original: Any, self: Any, number: int, why: str, now: Any) -> None:
        waiting = self._waiting.pop(number, None)
        original(self, number, why, now)
        if waiting is not None:
            waiting.confirmed(True, now)  # noqa: FBT003 - as the original

    wrap(patch, Keeping, "not_recorded", not_recorded)


def nothing_recorded_anew(patch: pytest.MonkeyPatch) -> None:
    """When the disk works again, what it missed stays missed."""
    patch.setattr(Minding, "record_all", lambda *_: None)


def acknowledged_for_ever(patch: pytest.MonkeyPatch) -> None:
    """What was acknowledged, out of sight, and is there again goes on as acknowledged."""
    patch.setattr(AlarmMachine, "_may_have_returned", lambda *_: False)


def raised_again_is_the_same(patch: pytest.MonkeyPatch) -> None:
    """Occurrences are named anew from 1 at every start."""

    def begin(original: Any, self: Any, _: str) -> None:
        original(self, "s")

    wrap(patch, Occurrences, "__init__", begin)


def escalation_lost_at_a_start(patch: pytest.MonkeyPatch) -> None:
    """A start forgets since when an occurrence waits."""

    def restore(original: Any, self: Any, record: Any, *args: Any) -> Any:
        return original(self, replace(record, raised_wall_ms=None), *args)

    wrap(patch, AlarmMachine, "restore", restore)


def part_asked_for_again(patch: pytest.MonkeyPatch) -> None:
    """A part that was taken out is asked for again after a start."""

    def restore(original: Any, self: Any, record: Any, now: Any) -> Any:
        changes = original(self, record, now)
        if self.occurrence is None:
            self.state = type(self.state).READY
        return changes

    wrap(patch, PromptMachine, "restore", restore)


def lasted_while_unknown(patch: pytest.MonkeyPatch) -> None:
    """Not knowing is no break of what must have lasted."""

    def judge(original: Any, self: Any, facts: Any, now_ms: int) -> bool:
        if any(isinstance(facts.get(each.fact), Unknown) for each in self.when):
            return False
        return bool(original(self, facts, now_ms))

    wrap(patch, Lasted, "judge", judge)


ALARMS_PLANTED: Final = (
    Planted(every_message_restarts_the_delay, ("I3",)),
    Planted(late_acknowledgement_silences, ("I3", "I4")),
    Planted(record_of_the_transition, ("I3", "I4")),
    Planted(unknown_is_returned, ("I3", "I4", "I1", "I2")),
    Planted(returned_is_not_raised_again, ("I3",)),
    Planted(hold_over_a_new_alarm, ("I1", "I3")),
    Planted(restored_shelf_acts_at_once, ("I3", "I4")),
    Planted(restored_hold_acts_at_once, ("I1", "I2")),
    Planted(shown_before_it_is_kept, ("I1", "I2", "I3", "I4")),
    Planted(answered_before_it_is_kept, ("I4",)),
    Planted(refusal_of_the_disk_unheard, ("I4",), first=6),
    Planted(nothing_recorded_anew, ("I4",), first=6),
    Planted(acknowledged_for_ever, ("I3",)),
    Planted(raised_again_is_the_same, ("I4",)),
    Planted(escalation_lost_at_a_start, ("I3",), first=7),
    Planted(part_asked_for_again, ("I3", "I4"), first=6),
    Planted(lasted_while_unknown, ("I1", "I2", "I3")),
)
