"""Wishes of persons: to the alarm, the prompt or the segment that each is about, and the answer.

What a lamp shows because of a wish, and the answer, wait until it is kept; where nothing is kept
it takes effect at once, and the answer says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Literal, TypeAlias, assert_never

from bridge.engine.actions import Note, Scalar, Tell
from bridge.engine.events import Wished
from bridge.engine.holding import Holding
from bridge.engine.keeping import Keeping
from bridge.engine.mind import Machine
from bridge.engine.minding import Minding
from bridge.engine.records import Happening
from bridge.engine.site import Site, segments_named
from bridge.engine.wishes import (
    Acknowledge,
    Collected,
    Hold,
    OutOfService,
    Press,
    Release,
    Reset,
    ReturnToService,
    Shelve,
    Unshelve,
)
from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp
from bridge.rules.alarm_records import Change, Refusal
from bridge.rules.alarm_states import TRANSITIONS, Signal
from bridge.rules.alarming import AlarmMachine
from bridge.rules.prompting import PromptMachine
from bridge.rules.table import STANDS

_NOT_KEPT = "; it is not kept: a restart will not know of it"


@dataclass(slots=True)
class _Asked:
    """One wish under way: what was done, and how many records it waits for."""

    token: str
    who: str
    done: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    #: Records, and 1 for the taking itself.
    waits: int = 1
    kept: bool = True


class Wishing:
    """Takes wishes. Mutable; owned by the core. ``choose`` sees anew what a segment shows."""

    def __init__(
        self,
        site: Site,
        minding: Minding,
        holding: Holding,
        keeping: Keeping,
        choose: Callable[[str, Moment], None],
    ) -> None:
        self._site, self._minding, self._holding = site, minding, holding
        self._keeping, self._choose = keeping, choose

    def take(self, event: Wished, now: Moment) -> None:
        """Do what is wished, or say why not."""
        wish, asked = event.wish, _Asked(event.token, event.who)
        match wish:
            case Acknowledge(occurrence) | Reset(occurrence) | Collected(occurrence):
                self._occurrence(_KINDS[type(wish)], occurrence, asked, now)
            case Shelve() | Unshelve() | OutOfService() | ReturnToService():
                self._alarm(wish, asked, now)
            case Hold():
                self._hold(wish, asked, now)
            case Release():
                self._release(wish, asked, now)
            case Press():
                self._press(wish, asked, now)
            case _:
                assert_never(wish)
        self._confirmed(asked, kept=True)

    # Alarms and prompts

    def _occurrence(self, kind: _Kind, occurrence: str, asked: _Asked, now: Moment) -> None:
        machine = next(
            (each for each in self._minding.machines() if _knows(each, occurrence)), None
        )
        if machine is None:
            asked.refused.append(f"there is no occurrence {occurrence}, or it is over")
            return
        self._signal(kind, machine, occurrence, asked, now)

    def _signal(
        self, kind: _Kind, machine: Machine, occurrence: str, asked: _Asked, now: Moment
    ) -> None:
        came: Change | Refusal
        raised = machine.raised
        match kind, machine:
            case "acknowledge", AlarmMachine():
                came = machine.acknowledge(occurrence, asked.who, now)
            case "reset", AlarmMachine():
                came = machine.reset(occurrence, asked.who, now)
            case "collected", PromptMachine():
                came = machine.collected(occurrence, asked.who, now)
            case _:
                other = "an alarm" if isinstance(machine, AlarmMachine) else "a prompt"
                asked.refused.append(f"{_name(machine)} is {other}: it cannot be {_DONE[kind]}")
                return
        self._take(machine, came, raised, asked, now)

    def _alarm(
        self,
        wish: Shelve | Unshelve | OutOfService | ReturnToService,
        asked: _Asked,
        now: Moment,
    ) -> None:
        machine = self._named(wish.alarm, wish.printer, asked)
        if machine is None:
            return
        came: Change | Refusal
        match wish:
            case Shelve(for_ms=for_ms, reason=reason):
                until_ms = (now.wall_ms or 0) + for_ms
                came = machine.shelve(until_ms, reason, asked.who, now)
            case Unshelve():
                came = machine.unshelve(asked.who, now)
            case OutOfService(reason=reason):
                came = machine.out_of_service(reason, asked.who, now)
            case ReturnToService():
                came = machine.return_to_service(asked.who, now)
        self._take(machine, came, None, asked, now)

    def _named(self, alarm: str, printer: str, asked: _Asked) -> AlarmMachine | None:
        mind = self._minding.minds.get(printer)
        machine = mind.alarms.get(alarm) if mind is not None else None
        if mind is None:
            asked.refused.append(f"there is no printer '{printer}'")
        elif machine is None:
            known = ", ".join(mind.alarms) or "none"
            asked.refused.append(f"{printer} has no alarm '{alarm}'; it has {known}")
        return machine

    def _press(self, wish: Press, asked: _Asked, now: Moment) -> None:
        """A button names no occurrence: it means those that stand now."""
        found = False
        for kind, machine, occurrence in list(self._pressed(wish)):
            found = True
            self._signal(kind, machine, occurrence, asked, now)
        if not found:
            asked.refused.append(f"nothing waits to be {_DONE.get(wish.wish, wish.wish)}")

    def _pressed(self, wish: Press) -> Iterator[tuple[_Kind, Machine, str]]:
        for machine in self._minding.machines():
            is_meant = (not wish.printers or machine.printer in wish.printers) and (
                not wish.names or _name(machine) in wish.names
            )
            occurrence = machine.occurrence
            if not is_meant or occurrence is None:
                continue
            if isinstance(machine, PromptMachine):
                if wish.wish == "collected" and machine.is_waiting:
                    yield "collected", machine, occurrence
            elif _can(machine, wish.wish):
                yield ("reset" if wish.wish == "reset" else "acknowledge"), machine, occurrence

    def _take(
        self,
        machine: Machine,
        came: Change | Refusal,
        raised: Stamp | None,
        asked: _Asked,
        now: Moment,
    ) -> None:
        subject = f"{_name(machine)} of {machine.printer}"
        if isinstance(came, Refusal):
            asked.refused.append(f"{subject}: {came}")
            return
        asked.done.append(f"{subject}: {came.kind.value}")
        self._minding.wished(machine, came, raised)
        number = came.number if came.waits else None

        def confirmed(kept: bool, then: Moment) -> None:  # noqa: FBT001 - as Keeping calls it
            if number is not None:
                machine.confirmed(number)
            self._minding.refresh(machine, then)
            self._confirmed(asked, kept=kept)

        # What waits does not show yet, but may have moved what is due next.
        self._minding.refresh(machine, now)
        asked.waits += 1
        self._keeping.state(came.record, now, confirmed)

    # Holds

    def _segments(self, names: Iterable[str], asked: _Asked) -> tuple[str, ...]:
        site = self._site
        unknown = [n for n in names if n not in site.segments and n not in {*site.sets, "all"}]
        if unknown:
            known = ", ".join((*site.segments, *site.sets, "all"))
            asked.refused.append(f"there is no segment '{unknown[0]}'; there are {known}")
            return ()
        segments = segments_named(site, tuple(names))
        if not segments:
            asked.refused.append("no segment is named")
        return segments

    def _hold(self, wish: Hold, asked: _Asked, now: Moment) -> None:
        segments = self._segments(wish.segments, asked)
        if not segments:
            return
        why = self._holding.why_not(segments, wish.scene, wish.for_ms, now)
        if why is not None:
            asked.refused.append(why)
            return
        for segment in segments:
            number = self._holding.hold(segment, wish.scene, wish.for_ms, asked.who, now)
            asked.done.append(f"{segment} is held")
            self._history(segment, "held", wish.scene, asked, now)
            self._keep_hold(segment, number, asked, now)

    def _release(self, wish: Release, asked: _Asked, now: Moment) -> None:
        segments = self._segments(wish.segments, asked)
        for segment in segments:
            if self._holding.release(segment):
                asked.done.append(f"{segment} is released")
                self._history(segment, "released", "", asked, now)
                # Like the end of a shelf it never waits: what it hid shows.
                self._choose(segment, now)
                self._keep_hold(segment, None, asked, now)
        if segments and not asked.done:
            asked.refused.append("none of them is held")

    def _keep_hold(self, segment: str, number: int | None, asked: _Asked, now: Moment) -> None:
        def confirmed(kept: bool, then: Moment) -> None:  # noqa: FBT001 - as Keeping calls it
            if number is not None:
                self._holding.confirm(segment, number)
            self._choose(segment, then)
            self._confirmed(asked, kept=kept)

        asked.waits += 1
        self._keeping.state(self._holding.record(segment), now, confirmed)

    def _history(self, segment: str, what: str, scene: str, asked: _Asked, now: Moment) -> None:
        self._keeping.happened(
            Happening("hold", what, now.wall_ms, segment=segment, name=scene, who=asked.who)
        )

    # Answers

    def _confirmed(self, asked: _Asked, *, kept: bool) -> None:
        asked.waits -= 1
        asked.kept = asked.kept and kept
        if not asked.waits:
            self._answer(asked)

    def _answer(self, asked: _Asked) -> None:
        taken = bool(asked.done)
        kept = taken and asked.kept
        why = "; ".join((*asked.done, *asked.refused)) + (_NOT_KEPT if taken and not kept else "")
        if asked.token:
            self._keeping.emit(Tell(asked.token, taken, kept, why))
        else:
            fields: dict[str, Scalar] = {"who": asked.who, "taken": taken, "why": why}
            self._keeping.emit(Note("info", "a button was pressed", fields))


_Kind: TypeAlias = Literal["acknowledge", "reset", "collected"]
_KINDS: dict[type, _Kind] = {
    Acknowledge: "acknowledge",
    Reset: "reset",
    Collected: "collected",
}
_SIGNALS = {"acknowledge": Signal.ACKNOWLEDGE, "reset": Signal.RESET}
_DONE = {"acknowledge": "acknowledged", "reset": "reset", "collected": "collected"}


def _name(machine: Machine) -> str:
    return machine.alarm.name if isinstance(machine, AlarmMachine) else machine.prompt.name


def _can(alarm: AlarmMachine, wish: str) -> bool:
    """Whether a button's wish leads anywhere for what the lamp shows of an alarm."""
    signal = _SIGNALS.get(wish)
    if signal is None or alarm.symbol() not in STANDS:
        return False
    return (alarm.state, signal) in TRANSITIONS[alarm.alarm.sequence]


def _knows(machine: Machine, occurrence: str) -> bool:
    """Whether it is its occurrence now, or the last one that somebody dealt with."""
    last = machine.acknowledged if isinstance(machine, AlarmMachine) else machine.last_collected
    return occurrence in {machine.occurrence, last.occurrence if last is not None else None}
