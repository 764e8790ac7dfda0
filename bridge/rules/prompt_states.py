"""The life of a prompt as a table: a person is wanted, and nothing is wrong.

1. What raises it makes it wait; that it is no longer so does not end it.
2. A person, its ``until`` or the next job ends it, and then its cause is spent: a part that was
   taken out is not asked for again because the last job goes on being a completed one.
3. It can be raised again once its cause was gone, or once another job is over.
"""

from __future__ import annotations

from enum import Enum
from typing import Final

from bridge.errors import LampwrightError


class PromptState(Enum):
    """Where a prompt is in its life."""

    READY = "ready"
    WAITING = "waiting"
    SPENT = "spent"


class PromptSignal(Enum):
    """What moves a prompt on."""

    #: Its ``when`` is true.
    RAISE = "raise"
    #: Its ``when`` is false.
    GONE = "gone"
    COLLECT = "collect"
    #: Its ``until`` is true.
    END = "end"
    NEXT_JOB = "next job"
    JOB_OVER = "job over"
    WITHDRAW = "withdraw"


#: What ``prompt: NAME`` can see.
PROMPT_SYMBOLS: Final = ("normal", PromptState.WAITING.value)

#: What is not here changes nothing.
PROMPT_TRANSITIONS: Final[dict[tuple[PromptState, PromptSignal], PromptState]] = {
    (PromptState.READY, PromptSignal.RAISE): PromptState.WAITING,
    # What is true of the last job says nothing of one that runs.
    (PromptState.READY, PromptSignal.NEXT_JOB): PromptState.SPENT,
    (PromptState.WAITING, PromptSignal.COLLECT): PromptState.SPENT,
    (PromptState.WAITING, PromptSignal.END): PromptState.SPENT,
    (PromptState.WAITING, PromptSignal.NEXT_JOB): PromptState.SPENT,
    (PromptState.WAITING, PromptSignal.WITHDRAW): PromptState.READY,
    (PromptState.SPENT, PromptSignal.GONE): PromptState.READY,
    (PromptState.SPENT, PromptSignal.JOB_OVER): PromptState.READY,
    (PromptState.SPENT, PromptSignal.WITHDRAW): PromptState.READY,
}


class NoPromptTransitionError(LampwrightError):
    """A signal that means nothing in a state."""

    def __init__(self, state: PromptState, signal: PromptSignal) -> None:
        super().__init__(f"a prompt that is {state.value} takes no signal '{signal.value}'")


def next_prompt_state(state: PromptState, signal: PromptSignal) -> PromptState:
    """Where the signal leads; raises ``NoPromptTransitionError`` where it leads nowhere."""
    after = PROMPT_TRANSITIONS.get((state, signal))
    if after is None:
        raise NoPromptTransitionError(state, signal)
    return after


def prompt_diagram() -> str:
    """The table as a Mermaid state diagram."""
    lines = ["stateDiagram-v2", f"    [*] --> {PromptState.READY.value}"]
    lines += (
        f"    {state.value} --> {after.value}: {signal.value}"
        for (state, signal), after in PROMPT_TRANSITIONS.items()
    )
    return "\n".join(lines) + "\n"
