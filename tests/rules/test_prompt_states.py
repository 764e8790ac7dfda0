"""The table of a prompt's life: every state and signal, written down a second time."""

from __future__ import annotations

from itertools import product

import pytest

from bridge.rules.prompt_states import (
    PROMPT_SYMBOLS,
    PROMPT_TRANSITIONS,
    NoPromptTransitionError,
    PromptSignal,
    PromptState,
    next_prompt_state,
    prompt_diagram,
)

R, W, S = PromptState.READY, PromptState.WAITING, PromptState.SPENT
NO = None
#: Rows: from; columns: raise, gone, collect, end, next job, job over, withdraw.
GRID = {
    R: (W, NO, NO, NO, S, NO, NO),
    W: (NO, NO, S, S, S, NO, R),
    S: (NO, R, NO, NO, NO, R, R),
}


@pytest.mark.parametrize(("state", "signal"), list(product(PromptState, PromptSignal)), ids=str)
def test_every_cell(state: PromptState, signal: PromptSignal) -> None:
    """Each leads where the grid says, or is refused with its state and signal named."""
    after = GRID[state][list(PromptSignal).index(signal)]
    if after is None:
        with pytest.raises(NoPromptTransitionError, match=f"{state.value} .*'{signal.value}'"):
            next_prompt_state(state, signal)
    else:
        assert next_prompt_state(state, signal) is after


def test_words() -> None:
    """Normal, or waiting for a person."""
    assert PROMPT_SYMBOLS == ("normal", "waiting")


def test_diagram() -> None:
    """Every transition is an edge."""
    lines = prompt_diagram().splitlines()
    assert lines[:2] == ["stateDiagram-v2", "    [*] --> ready"]
    assert "    waiting --> spent: next job" in lines
    assert len(lines) == 2 + len(PROMPT_TRANSITIONS)
