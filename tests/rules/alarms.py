"""Alarms and prompts for the tests of this room, and a clock that the test moves."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.facts.moment import Moment
from bridge.facts.truth import Truth
from bridge.rules.alarm import Alarm, Escalation, Prompt
from bridge.rules.alarm_records import Change, Kind, Occurrences, Refusal
from bridge.rules.alarm_states import Sequence, Signal, State
from bridge.rules.alarming import AlarmMachine
from bridge.rules.conditions import Condition, SymbolIs
from bridge.rules.prompting import PromptMachine
from bridge.rules.table import Source

HERE = Source("rules.yaml", 1, 1)
#: 2025-01-06 18:00 UTC, an evening in the workroom.
WALL_MS = 1_736_186_400_000
STOPPED = SymbolIs("state", frozenset({"stopped"}))
DONE = SymbolIs("last-job", frozenset({"completed"}))
T, F, U = Truth.TRUE, Truth.FALSE, Truth.UNKNOWN


def at(ms: int) -> Moment:
    """An instant of the evening, ``ms`` after it began."""
    return Moment(ms, WALL_MS + ms)


def alarm(
    sequence: Sequence = "A",
    on_delay_ms: int = 0,
    off_delay_ms: int = 0,
    *,
    when: tuple[Condition, ...] = (STOPPED,),
    escalate: Escalation | None = None,
) -> Alarm:
    """An alarm called ``halted``."""
    return Alarm(
        name="halted",
        when=when,
        on_delay_ms=on_delay_ms,
        off_delay_ms=off_delay_ms,
        sequence=sequence,
        priority="medium",
        cause="it stopped by itself",
        response="look at it",
        escalate=escalate,
        source=HERE,
    )


def machine(declared: Alarm | None = None, seed: str = "evening") -> AlarmMachine:
    """Its machine for ``kestrel``."""
    return AlarmMachine(declared or alarm(), "kestrel", Occurrences(seed))


def prompt(
    when: tuple[Condition, ...] = (DONE,), until: tuple[Condition, ...] | None = None
) -> Prompt:
    """A prompt called ``collect``."""
    return Prompt("collect", when, until, "take the part out", HERE)


def prompt_machine(declared: Prompt | None = None, seed: str = "evening") -> PromptMachine:
    """Its machine for ``kestrel``."""
    return PromptMachine(declared or prompt(), "kestrel", Occurrences(seed))


def kinds(changes: Iterable[Change]) -> list[Kind]:
    """What happened, in order."""
    return [change.kind for change in changes]


def done(answer: Change | Refusal) -> Change:
    """A wish that must have been granted."""
    assert isinstance(answer, Change), str(answer)
    return answer


def in_state(state: State, sequence: Sequence) -> AlarmMachine:
    """A machine that has got there by its own life, at 0 ms, without delays."""
    made = machine(alarm(sequence))
    for signal in PATHS[state]:
        give(made, signal, at(0))
    return made


def give(made: AlarmMachine, signal: Signal, now: Moment) -> None:
    """Make a machine without delays take a signal."""
    occurrence = made.occurrence or ""
    if signal is Signal.RAISE:
        made.judge(T, now)
    elif signal is Signal.RETURN:
        made.judge(F, now)
    elif signal is Signal.ACKNOWLEDGE:
        made.confirmed(done(made.acknowledge(occurrence, "ann", now)).number)
    elif signal is Signal.RESET:
        made.confirmed(done(made.reset(occurrence, "ann", now)).number)
    else:
        made.withdraw(now)


#: One way to each state; the last one where the sequence latches.
PATHS = {
    State.NORMAL: [Signal.RETURN],
    State.UNACKNOWLEDGED: [Signal.RAISE],
    State.ACKNOWLEDGED: [Signal.RAISE, Signal.ACKNOWLEDGE],
    State.RETURNED: [Signal.RAISE, Signal.RETURN],
    State.LATCHED: [Signal.RAISE, Signal.ACKNOWLEDGE, Signal.RETURN],
}
