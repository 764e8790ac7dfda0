"""What alarms and prompts say of themselves: changes, refusals, and records that cross a start.

A record carries the resulting state, never the transition: one failed write would otherwise make
every later restore wrong. Its times are wall times, ``None`` where the wall clock was not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bridge.facts.moment import Moment
from bridge.rules.alarm_states import Sequence, Signal, State
from bridge.rules.prompt_states import PromptState


class Occurrences:
    """Names of occurrences: the start's seed and a count, so that no two are ever the same.

    One for all machines of a start.
    """

    def __init__(self, seed: str) -> None:
        self._seed, self._count = seed, 0

    def name(self) -> str:
        """The next name."""
        self._count += 1
        return f"{self._seed}-{self._count}"


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """Who acknowledged or collected which occurrence, and when by the wall clock."""

    occurrence: str
    who: str
    wall_ms: int | None


@dataclass(frozen=True, slots=True)
class ShelfRecord:
    """Put aside until a time by the wall clock."""

    until_wall_ms: int
    reason: str
    who: str


@dataclass(frozen=True, slots=True)
class OutOfServiceRecord:
    """Out of service until somebody returns it."""

    reason: str
    who: str
    since_wall_ms: int | None


@dataclass(frozen=True, slots=True)
class AlarmRecord:
    """One alarm of one printer, as it is.

    A raise that waits for its on-delay is not in it: it is judged again from the facts.
    ``when`` is the condition's text, by which an edit is seen.
    """

    alarm: str
    printer: str
    when: str
    state: State
    written_wall_ms: int | None
    occurrence: str | None = None
    #: When the occurrence began, and when its condition last became true.
    raised_wall_ms: int | None = None
    active_wall_ms: int | None = None
    unconfirmed_since_wall_ms: int | None = None
    #: Until when its condition was known to be true; ``None`` where it still was.
    true_until_wall_ms: int | None = None
    acknowledged: Acknowledgement | None = None
    escalated: bool = False
    shelf: ShelfRecord | None = None
    out_of_service: OutOfServiceRecord | None = None

    @property
    def is_normal(self) -> bool:
        """Nothing that a restart would have to know."""
        return self.state is State.NORMAL and self.shelf is None and self.out_of_service is None


@dataclass(frozen=True, slots=True)
class PromptRecord:
    """One prompt of one printer, as it is."""

    prompt: str
    printer: str
    when: str
    state: PromptState
    occurrence: str | None = None
    raised_wall_ms: int | None = None
    #: The last one that a person ended.
    collected: Acknowledgement | None = None

    @property
    def is_normal(self) -> bool:
        """Nothing that a restart would have to know."""
        return self.state is PromptState.READY


class Kind(Enum):
    """What happened to an alarm or a prompt."""

    RAISED = "raised"
    RETURNED = "returned"
    ACKNOWLEDGED = "acknowledged"
    RESET = "reset"
    WITHDRAWN = "withdrawn by edit"
    ESCALATED = "escalated"
    SHELVED = "shelved"
    UNSHELVED = "unshelved"
    OUT_OF_SERVICE = "out of service"
    IN_SERVICE = "returned to service"
    COLLECTED = "collected"
    ENDED = "ended"
    #: A prompt that is over may be raised again; nothing shows.
    READY = "ready again"


#: What a signal does, as history says it.
KIND_OF = {
    Signal.RAISE: Kind.RAISED,
    Signal.RETURN: Kind.RETURNED,
    Signal.ACKNOWLEDGE: Kind.ACKNOWLEDGED,
    Signal.RESET: Kind.RESET,
    Signal.WITHDRAW: Kind.WITHDRAWN,
}


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that happened, at its own due time, and the record to write of it.

    ``before`` and ``after`` are states in words. ``who`` is empty where nobody did it. Where
    ``waits``, what shows changes only when the machine's ``confirmed(number)`` is called.
    """

    kind: Kind
    name: str
    printer: str
    occurrence: str | None
    before: str
    after: str
    at: Moment
    who: str
    reason: str
    number: int
    waits: bool
    record: AlarmRecord | PromptRecord


class WhyRefused(Enum):
    """Why a wish about an alarm or a prompt is not granted."""

    UNKNOWN_OCCURRENCE = "there is no such occurrence, or it is over"
    ALREADY_ACKNOWLEDGED = "it is already acknowledged"
    ALREADY_COLLECTED = "it is already collected"
    NOT_ACKNOWLEDGED = "it must be acknowledged first"
    STILL_ACTIVE = "what raised it still holds"
    NO_RESET = "its sequence resets by itself"
    NO_REASON = "it needs a reason"
    NO_CLOCK = "the wall clock is not known yet"
    PAST = "that time is past"
    NOT_SHELVED = "it is not shelved"
    ALREADY_OUT_OF_SERVICE = "it is already out of service"
    IN_SERVICE = "it is in service"


@dataclass(frozen=True, slots=True)
class Refusal:
    """A wish that is not granted, why, and what stands instead."""

    why: WhyRefused
    detail: str = ""

    def __str__(self) -> str:
        return f"{self.why.value}{': ' + self.detail if self.detail else ''}"


#: Why a person's signal that leads nowhere does not. What is normal has no occurrence to name.
REFUSED = {
    (State.ACKNOWLEDGED, Signal.ACKNOWLEDGE): WhyRefused.ALREADY_ACKNOWLEDGED,
    (State.LATCHED, Signal.ACKNOWLEDGE): WhyRefused.ALREADY_ACKNOWLEDGED,
    (State.UNACKNOWLEDGED, Signal.RESET): WhyRefused.NOT_ACKNOWLEDGED,
    (State.RETURNED, Signal.RESET): WhyRefused.NOT_ACKNOWLEDGED,
    (State.ACKNOWLEDGED, Signal.RESET): WhyRefused.STILL_ACTIVE,
}


def refused(state: State, signal: Signal, sequence: Sequence) -> WhyRefused:
    """Why a person's signal leads nowhere from here."""
    if signal is Signal.RESET and sequence == "A":
        return WhyRefused.NO_RESET
    return REFUSED[state, signal]
