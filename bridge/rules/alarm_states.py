"""The life of an alarm as a table.

States are those of ISA-18.2 (readable in OPC UA part 9); which of them an alarm passes through
depends on its sequence of ISA-18.1. The rules in words:

1. A raise from anywhere makes it unacknowledged.
2. A return before the acknowledgement leaves it waiting for that ("returned").
3. Acknowledged and returned, in either order, sequence A is normal again; M and R latch.
4. Only a latched alarm can be reset.
5. An edit withdraws it from anywhere.

Shelved and out of service are no states here: beneath them the life goes on unseen.
"""

from __future__ import annotations

from enum import Enum
from typing import Final, Literal, TypeAlias, get_args

from bridge.errors import LampwrightError
from bridge.facts.truth import Truth

#: How the lamp answers, after ISA-18.1: automatic reset, manual reset, ring-back.
Sequence: TypeAlias = Literal["A", "M", "R"]
SEQUENCES: Final[tuple[Sequence, ...]] = get_args(Sequence)


class State(Enum):
    """Where an alarm is in its life; the text is what ``alarm: NAME`` sees."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    #: Returned to normal and not acknowledged.
    RETURNED = "returned"
    #: Returned to normal and acknowledged; waits for a reset.
    LATCHED = "latched"


class Signal(Enum):
    """What moves an alarm on."""

    #: Its condition was true for its on-delay.
    RAISE = "raise"
    #: Its condition was false for its off-delay.
    RETURN = "return"
    ACKNOWLEDGE = "acknowledge"
    RESET = "reset"
    #: An edit took it away or changed what raises it.
    WITHDRAW = "withdraw"


SHELVED: Final = "shelved"
OUT_OF_SERVICE: Final = "out-of-service"
#: Every word that ``alarm: NAME`` can see; in the first and the last two it is not true.
ALARM_SYMBOLS: Final = (*(state.value for state in State), SHELVED, OUT_OF_SERVICE)
QUIET_SYMBOLS: Final = frozenset({State.NORMAL.value, SHELVED, OUT_OF_SERVICE})

_Transitions: TypeAlias = dict[tuple[State, Signal], State]

_ALWAYS: Final[_Transitions] = {
    (State.NORMAL, Signal.RAISE): State.UNACKNOWLEDGED,
    (State.UNACKNOWLEDGED, Signal.RETURN): State.RETURNED,
    (State.UNACKNOWLEDGED, Signal.ACKNOWLEDGE): State.ACKNOWLEDGED,
    (State.UNACKNOWLEDGED, Signal.WITHDRAW): State.NORMAL,
    # Re-alarm: it may have returned and come again while nothing was known.
    (State.ACKNOWLEDGED, Signal.RAISE): State.UNACKNOWLEDGED,
    (State.ACKNOWLEDGED, Signal.WITHDRAW): State.NORMAL,
    (State.RETURNED, Signal.RAISE): State.UNACKNOWLEDGED,
    (State.RETURNED, Signal.WITHDRAW): State.NORMAL,
    # In sequence A only for the instant after an edit from M or R.
    (State.LATCHED, Signal.WITHDRAW): State.NORMAL,
}
_AUTOMATIC_RESET: Final[_Transitions] = _ALWAYS | {
    (State.ACKNOWLEDGED, Signal.RETURN): State.NORMAL,
    (State.RETURNED, Signal.ACKNOWLEDGE): State.NORMAL,
}
_MANUAL_RESET: Final[_Transitions] = _ALWAYS | {
    (State.ACKNOWLEDGED, Signal.RETURN): State.LATCHED,
    (State.RETURNED, Signal.ACKNOWLEDGE): State.LATCHED,
    (State.LATCHED, Signal.RAISE): State.UNACKNOWLEDGED,
    (State.LATCHED, Signal.RESET): State.NORMAL,
}
#: By sequence; what is not here cannot happen.
TRANSITIONS: Final[dict[Sequence, _Transitions]] = {
    "A": _AUTOMATIC_RESET,
    "M": _MANUAL_RESET,
    "R": _MANUAL_RESET,
}

#: What a known truth will become a signal of, after the delay; unknown becomes none.
DELAYED: Final[dict[tuple[State, Truth], Signal]] = {
    (State.NORMAL, Truth.TRUE): Signal.RAISE,
    (State.RETURNED, Truth.TRUE): Signal.RAISE,
    (State.LATCHED, Truth.TRUE): Signal.RAISE,
    (State.UNACKNOWLEDGED, Truth.FALSE): Signal.RETURN,
    (State.ACKNOWLEDGED, Truth.FALSE): Signal.RETURN,
}

#: The condition holds, as far as is known.
ACTIVE: Final = frozenset({State.UNACKNOWLEDGED, State.ACKNOWLEDGED})
#: A raise in these keeps the occurrence, in all others it begins a new one.
UNACKNOWLEDGED: Final = frozenset({State.UNACKNOWLEDGED, State.RETURNED})

#: Which variant of its scene an alarm shows.
Variant: TypeAlias = Literal["normal", "unacknowledged", "acknowledged", "returned"]

#: ISA-18.1: flashing for what nobody acknowledged, returned or not; then steady; after that off
#: (A), still steady (M) or slowly flashing (R).
LOOKS: Final[dict[tuple[State, Sequence], Variant]] = {
    (State.NORMAL, "A"): "normal",
    (State.NORMAL, "M"): "normal",
    (State.NORMAL, "R"): "normal",
    (State.UNACKNOWLEDGED, "A"): "unacknowledged",
    (State.UNACKNOWLEDGED, "M"): "unacknowledged",
    (State.UNACKNOWLEDGED, "R"): "unacknowledged",
    (State.RETURNED, "A"): "unacknowledged",
    (State.RETURNED, "M"): "unacknowledged",
    (State.RETURNED, "R"): "unacknowledged",
    (State.ACKNOWLEDGED, "A"): "acknowledged",
    (State.ACKNOWLEDGED, "M"): "acknowledged",
    (State.ACKNOWLEDGED, "R"): "acknowledged",
    (State.LATCHED, "M"): "acknowledged",
    (State.LATCHED, "R"): "returned",
}


def symbols_of(sequence: Sequence) -> tuple[str, ...]:
    """The words that ``alarm: NAME`` can see in a sequence: A never latches."""
    reached = {State.NORMAL, *TRANSITIONS[sequence].values()}
    return (*(state.value for state in State if state in reached), SHELVED, OUT_OF_SERVICE)


class NoTransitionError(LampwrightError):
    """A signal that means nothing in a state."""

    def __init__(self, state: State, signal: Signal, sequence: Sequence) -> None:
        super().__init__(f"cannot {signal.value} what is {state.value} in sequence {sequence}")


def next_state(state: State, signal: Signal, sequence: Sequence) -> State:
    """Where the signal leads; raises ``NoTransitionError`` where it leads nowhere."""
    after = TRANSITIONS[sequence].get((state, signal))
    if after is None:
        raise NoTransitionError(state, signal, sequence)
    return after


def diagram() -> str:
    """The table as a Mermaid state diagram; an edge of some sequences only names them."""
    edges: dict[tuple[State, Signal, State], list[str]] = {}
    for sequence in SEQUENCES:
        for (state, signal), after in TRANSITIONS[sequence].items():
            edges.setdefault((state, signal, after), []).append(sequence)
    lines = ["stateDiagram-v2", f"    [*] --> {State.NORMAL.value}"]
    for (state, signal, after), sequences in edges.items():
        some = "" if len(sequences) == len(SEQUENCES) else f" ({', '.join(sequences)})"
        lines.append(f"    {state.value} --> {after.value}: {signal.value}{some}")
    return "\n".join(lines) + "\n"
