"""The table of an alarm's life: every state, signal and sequence, written down a second time."""

from __future__ import annotations

from itertools import product
from typing import TypeAlias

import pytest

from bridge.facts.truth import Truth
from bridge.rules.alarm_records import REFUSED, WhyRefused, refused
from bridge.rules.alarm_states import (
    ACTIVE,
    ALARM_SYMBOLS,
    DELAYED,
    LOOKS,
    QUIET_SYMBOLS,
    SEQUENCES,
    TRANSITIONS,
    UNACKNOWLEDGED,
    NoTransitionError,
    Sequence,
    Signal,
    State,
    diagram,
    next_state,
    symbols_of,
)

N, U, A, R, L = (
    State.NORMAL,
    State.UNACKNOWLEDGED,
    State.ACKNOWLEDGED,
    State.RETURNED,
    State.LATCHED,
)
NO = None
Grid: TypeAlias = dict[State, tuple[State | None, ...]]
#: Rows: from; columns: raise, return, acknowledge, reset, withdraw.
LATCHING: Grid = {
    N: (U, NO, NO, NO, NO),
    U: (NO, R, A, NO, N),
    A: (U, L, NO, NO, N),
    R: (U, NO, L, NO, N),
    L: (U, NO, NO, N, N),
}
AUTOMATIC: Grid = {
    N: (U, NO, NO, NO, NO),
    U: (NO, R, A, NO, N),
    A: (U, N, NO, NO, N),
    R: (U, NO, N, NO, N),
    L: (NO, NO, NO, NO, N),
}
GRID: dict[Sequence, Grid] = {
    "A": AUTOMATIC,
    "M": LATCHING,
    "R": LATCHING,
}


@pytest.mark.parametrize(
    ("sequence", "state", "signal"), list(product(SEQUENCES, State, Signal)), ids=str
)
def test_every_cell(sequence: Sequence, state: State, signal: Signal) -> None:
    """Each leads where the grid says, or is refused with its state and signal named."""
    after = GRID[sequence][state][list(Signal).index(signal)]
    if after is None:
        with pytest.raises(NoTransitionError, match=f"{signal.value} what is {state.value}"):
            next_state(state, signal, sequence)
    else:
        assert next_state(state, signal, sequence) is after


@pytest.mark.parametrize("sequence", SEQUENCES)
def test_reachable(sequence: Sequence) -> None:
    """What can be reached is what has a look, and everything there finds back to normal."""
    reached = {N}
    while (
        more := {after for (state, _), after in TRANSITIONS[sequence].items() if state in reached}
        - reached
    ):
        reached |= more
    assert reached == {state for state, other in LOOKS if other == sequence}
    for state in reached - {N}:
        assert TRANSITIONS[sequence][state, Signal.WITHDRAW] is N


@pytest.mark.parametrize(
    ("sequence", "state", "signal"),
    [
        (sequence, state, signal)
        for sequence in SEQUENCES
        for state in State
        for signal in (Signal.ACKNOWLEDGE, Signal.RESET)
        if state is not N
    ],
    ids=str,
)
def test_a_person_is_answered(sequence: Sequence, state: State, signal: Signal) -> None:
    """What a person wishes leads somewhere or has a reason why not, and never both."""
    if (state, sequence) not in LOOKS:
        return  # no alarm of this sequence is ever there
    if (state, signal) in TRANSITIONS[sequence]:
        assert (state, signal) not in REFUSED
    else:
        assert refused(state, signal, sequence) in WhyRefused


@pytest.mark.parametrize(("state", "truth"), list(product(State, Truth)), ids=str)
def test_what_a_truth_becomes(state: State, truth: Truth) -> None:
    """True raises what is not active, false returns what is, unknown does nothing."""
    wanted = {
        Truth.TRUE: None if state in ACTIVE else Signal.RAISE,
        Truth.FALSE: Signal.RETURN if state in ACTIVE else None,
        Truth.UNKNOWN: None,
    }
    assert DELAYED.get((state, truth)) is wanted[truth]


def test_sets() -> None:
    """Active, unacknowledged and quiet are what their names say."""
    assert {U, A} == ACTIVE
    assert {U, R} == UNACKNOWLEDGED
    assert [word for word in ALARM_SYMBOLS if word in QUIET_SYMBOLS] == [
        "normal",
        "shelved",
        "out-of-service",
    ]


def test_diagram() -> None:
    """Every transition is an edge; what not every sequence has names those that do."""
    lines = diagram().splitlines()
    assert lines[:2] == ["stateDiagram-v2", "    [*] --> normal"]
    assert "    normal --> unacknowledged: raise" in lines
    assert "    acknowledged --> normal: return (A)" in lines
    assert "    acknowledged --> latched: return (M, R)" in lines
    edges = {
        (state, signal, after)
        for table in TRANSITIONS.values()
        for (state, signal), after in table.items()
    }
    assert len(lines) == 2 + len(edges)


@pytest.mark.parametrize("sequence", SEQUENCES)
def test_the_words_of_a_sequence_are_those_it_can_reach(sequence: Sequence) -> None:
    """What resets itself never latches."""
    never = {"latched"} if sequence == "A" else set()
    assert set(ALARM_SYMBOLS) - set(symbols_of(sequence)) == never
