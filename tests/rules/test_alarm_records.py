"""Names of occurrences, records and refusals."""

from __future__ import annotations

import pytest

from bridge.rules.alarm_records import (
    KIND_OF,
    AlarmRecord,
    Occurrences,
    OutOfServiceRecord,
    PromptRecord,
    Refusal,
    ShelfRecord,
    WhyRefused,
    refused,
)
from bridge.rules.alarm_states import Signal, State
from bridge.rules.prompt_states import PromptState


def test_occurrences() -> None:
    """Named by the start's seed, and never twice."""
    names = Occurrences("evening")
    assert [names.name(), names.name()] == ["evening-1", "evening-2"]


def test_every_signal_has_a_kind() -> None:
    """History has a word for each."""
    assert set(KIND_OF) == set(Signal)


SHELF = ShelfRecord(1, "spare part ordered", "ann")
OUT = OutOfServiceRecord("sensor broken", "ann", None)


@pytest.mark.parametrize(
    ("record", "is_normal"),
    [
        (AlarmRecord("halted", "kestrel", "", State.NORMAL, None), True),
        (AlarmRecord("halted", "kestrel", "", State.RETURNED, None), False),
        (AlarmRecord("halted", "kestrel", "", State.NORMAL, None, shelf=SHELF), False),
        (AlarmRecord("halted", "kestrel", "", State.NORMAL, None, out_of_service=OUT), False),
        (PromptRecord("collect", "kestrel", "", PromptState.READY), True),
        (PromptRecord("collect", "kestrel", "", PromptState.SPENT), False),
        (PromptRecord("collect", "kestrel", "", PromptState.WAITING), False),
    ],
)
def test_normal(record: AlarmRecord | PromptRecord, is_normal: bool) -> None:
    """What is not normal must be known after a restart."""
    assert record.is_normal is is_normal


def test_refusals() -> None:
    """In words, with what stands instead; sequence A has nothing to reset, whatever its state."""
    assert str(Refusal(WhyRefused.PAST)) == "that time is past"
    assert str(Refusal(WhyRefused.UNKNOWN_OCCURRENCE, "evening-2 stands")).endswith(
        "it is over: evening-2 stands"
    )
    assert refused(State.UNACKNOWLEDGED, Signal.RESET, "A") is WhyRefused.NO_RESET
    assert refused(State.UNACKNOWLEDGED, Signal.RESET, "M") is WhyRefused.NOT_ACKNOWLEDGED
