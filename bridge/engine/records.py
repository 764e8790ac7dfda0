"""What the core wants kept: states that cross a start, and what happened, for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from bridge.facts.memory import MemoryRecord
from bridge.facts.words import WordsRecord
from bridge.rules.alarm_records import AlarmRecord, PromptRecord


@dataclass(frozen=True, slots=True)
class HoldRecord:
    """A segment that is held; ``scene`` is ``None`` once it is not any more."""

    segment: str
    scene: str | None
    until_wall_ms: int | None
    who: str


@dataclass(frozen=True, slots=True)
class KeptRecord:
    """What somebody had set on a segment before we took it; ``kept`` is JSON text, or ``None``.

    ``wall_ms``: when it was kept; ``None`` where the wall clock was not known.
    """

    segment: str
    kept: str | None
    wall_ms: int | None


@dataclass(frozen=True, slots=True)
class BootRecord:
    """When a controller's own look at power-up was written, of the last day."""

    controller: str
    written_wall_ms: tuple[int, ...]


#: A state that replaces the one before under the same key.
StateRecord: TypeAlias = (
    AlarmRecord | PromptRecord | MemoryRecord | HoldRecord | WordsRecord | KeptRecord | BootRecord
)

Subject: TypeAlias = Literal["segment", "alarm", "prompt", "job", "hearing", "hold", "start"]


@dataclass(frozen=True, slots=True)
class Happening:
    """One line of history. ``wall_ms`` is ``None`` where the wall clock was not known.

    ``what`` by subject: of a segment the scene it shows from now on, of an alarm or prompt the
    kind of change, of a job its outcome or ``stalled``, of hearing ``fresh`` or ``stale``, of a
    hold ``held`` or ``released``, of a start ``started`` or ``stopped``. ``name`` is the rule,
    alarm, prompt, job name or scene. ``cause`` is in words. ``progress`` (0..1) is a job's last.
    """

    subject: Subject
    what: str
    wall_ms: int | None
    printer: str = ""
    segment: str = ""
    name: str = ""
    cause: str = ""
    occurrence: str = ""
    who: str = ""
    #: Of an acknowledgement the time since the raise, of a job its length, in ms.
    after_ms: int | None = None
    progress: float | None = None


def key_of(record: StateRecord) -> tuple[str, str, str]:
    """By which a state replaces the one before: its kind and two names."""
    match record:
        case AlarmRecord():
            return "alarm", record.alarm, record.printer
        case PromptRecord():
            return "prompt", record.prompt, record.printer
        case MemoryRecord():
            return "memory", record.printer, ""
        case HoldRecord():
            return "hold", record.segment, ""
        case WordsRecord():
            return "words", record.printer, ""
        case KeptRecord():
            return "kept", record.segment, ""
        case BootRecord():
            return "boot", record.controller, ""
