"""Records as plain JSON values and back, by the same words as ``key_of`` has for their kinds."""

from __future__ import annotations

import json
from typing import Final

from bridge.engine.records import BootRecord, Happening, HoldRecord, KeptRecord, StateRecord
from bridge.facts.memory import MemoryRecord
from bridge.facts.words import WordsRecord
from bridge.recording.errors import RecordingError
from bridge.recording.plain import NotOfTypeError, fields_of, value_of
from bridge.rules.alarm_records import AlarmRecord, PromptRecord

#: The states by the word for their kind.
KINDS: Final[dict[str, type[StateRecord]]] = {
    "alarm": AlarmRecord,
    "prompt": PromptRecord,
    "memory": MemoryRecord,
    "hold": HoldRecord,
    "words": WordsRecord,
    "kept": KeptRecord,
    "boot": BootRecord,
}


def record_plain(record: StateRecord | Happening) -> dict[str, object]:
    """A record as JSON has it, without its kind."""
    return fields_of(record)


def record_of(kind: str, plain: object) -> StateRecord:
    """What ``record_plain`` was given; raises ``RecordingError`` for anything else."""
    made = KINDS.get(kind)
    if made is None:
        raise RecordingError(kind, f"its kind is none of {', '.join(KINDS)}", "record")
    try:
        return value_of(made, plain)
    except NotOfTypeError as error:
        raise RecordingError(json.dumps(plain, default=str), str(error), kind) from None
