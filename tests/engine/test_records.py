"""States that are kept: the last one under each key."""

from __future__ import annotations

import pytest

from bridge.engine.records import BootRecord, HoldRecord, KeptRecord, StateRecord, key_of
from bridge.facts.memory import MemoryRecord
from bridge.facts.words import WordsRecord
from bridge.rules.alarm_records import AlarmRecord, PromptRecord
from bridge.rules.alarm_states import State
from bridge.rules.prompt_states import PromptState


@pytest.mark.parametrize(
    ("record", "key"),
    [
        (AlarmRecord("jam", "kestrel", "", State.NORMAL, None), ("alarm", "jam", "kestrel")),
        (PromptRecord("fetch", "kestrel", "", PromptState.READY), ("prompt", "fetch", "kestrel")),
        (HoldRecord("sill", "dark", None, "Maeve"), ("hold", "sill", "")),
        (WordsRecord("plover", ()), ("words", "plover", "")),
        (KeptRecord("sill", '"dots"', 5), ("kept", "sill", "")),
        (BootRecord("door", (5, 9)), ("boot", "door", "")),
        (
            MemoryRecord("plover", None, None, None, "no-value", None, False, None, None, False),  # noqa: FBT003 - as its fields come
            ("memory", "plover", ""),
        ),
    ],
)
def test_a_state_replaces_the_one_under_its_key(
    record: StateRecord, key: tuple[str, str, str]
) -> None:
    """Each alarm and prompt of a printer, each printer and each segment has one."""
    assert key_of(record) == key
