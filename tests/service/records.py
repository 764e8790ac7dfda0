"""Records for the tests of the journal, told apart by their numbers."""

from __future__ import annotations

from bridge.engine.actions import Record
from bridge.engine.records import Happening, HoldRecord
from bridge.rules.alarm_records import AlarmRecord
from bridge.rules.alarm_states import State


def alarm(number: int, name: str = "material-out", printer: str = "kestrel") -> AlarmRecord:
    """A state that says by its occurrence which one it is."""
    return AlarmRecord(
        alarm=name,
        printer=printer,
        when="reasons any material-empty",
        state=State.ACKNOWLEDGED,
        written_wall_ms=number,
        occurrence=f"0-{number}",
    )


def hold(segment: str, scene: str | None = "dark") -> HoldRecord:
    """A segment that is held."""
    return HoldRecord(segment, scene, None, "Ada")


def line(number: int, name: str = "") -> Happening:
    """A line of history that says by its time which one it is."""
    return Happening("segment", "ready", number, segment="shelf", name=name)


def durable(number: int, name: str = "material-out") -> Record:
    """What must not be lost."""
    return Record(number, alarm(number, name), durable=True)
