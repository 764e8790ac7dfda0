"""A recording's lines: heads, marks and events.

A recording may go on in several files, its parts. Each begins with a head; every part but the
first then has what a core needs to begin there, and is marked as such, because of what the printers
had said before only their last messages are in it. A mark holds the SHA-256 of all
actions since the first event of the first part, so that whoever feeds the same events can tell
whether the same came of it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias, TypeVar

from bridge.engine.actions import Action
from bridge.engine.events import Event
from bridge.facts.moment import Moment
from bridge.recording.canonical import SiteOf, action_text, event_of
from bridge.recording.errors import RecordingError
from bridge.recording.plain import NotOfTypeError, fields_of, value_of

#: Which lines; a recording with a higher one is left alone.
FORMAT: Final = 1
#: A mark stands after so many events at the latest.
MARK_EVERY: Final = 1000
#: What a first line begins with, for its keys are sorted.
_HEAD: Final = '{"begins":'
_MIDDLE: Final = "begins in the middle: of what was said before only the last messages are here"


@dataclass(frozen=True, slots=True)
class Head:
    """The first line of a part. ``begins``: how many events after it only make a beginning."""

    format: int
    recording: str
    part: int
    begins: int
    written_by: str
    says: str = ""

    @classmethod
    def of(cls, recording: str, part: int, begins: int, written_by: str) -> Head:
        """A head as it is written."""
        return cls(FORMAT, recording, part, begins, written_by, _MIDDLE if part > 1 else "")


@dataclass(frozen=True, slots=True)
class Mark:
    """The digest of all actions up to here, as hex, and of how many events they came."""

    actions: str
    events: int


@dataclass(frozen=True, slots=True)
class Occurred:
    """An event and its moment."""

    event: Event
    moment: Moment


@dataclass(frozen=True, slots=True)
class CutOff:
    """The last line is half a one: the process or the machine ended while it was written."""


T = TypeVar("T")
Entry: TypeAlias = Head | Mark | Occurred | CutOff


class ActionsDigest:
    """The running digest of all actions, event by event."""

    def __init__(self) -> None:
        self._digest = hashlib.sha256()
        self.events = 0

    def take(self, actions: Iterable[Action]) -> None:
        """What came of one more event."""
        for action in actions:
            self._digest.update(action_text(action).encode() + b"\n")
        self._digest.update(b"\n")
        self.events += 1

    def mark(self) -> Mark:
        """Up to here."""
        return Mark(self._digest.hexdigest(), self.events)


def line_of(what: Head | Mark) -> str:
    """A head or a mark, on one line."""
    return json.dumps(fields_of(what), sort_keys=True, separators=(",", ":"))


def entries(lines: Iterable[str], site_of: SiteOf) -> Iterator[Entry]:
    """What the lines of one part hold; raises ``RecordingError`` with the number of the line."""
    for number, line in enumerate(lines, start=1):
        try:
            entry = _first(line) if number == 1 else _entry(line, site_of)
        except RecordingError as error:
            if number > 1 and not line.endswith("\n"):
                yield CutOff()
                return
            raise error.at_line(number) from None
        yield entry


def _first(line: str) -> Head:
    if not line.startswith(_HEAD):
        raise RecordingError(line, "a recording begins with a head", "head")
    head = _read(Head, line)
    if head.format > FORMAT:
        why = f"format {head.format} is newer than {FORMAT}, which is the newest known here"
        raise RecordingError(line, why, "head")
    return head


def _entry(line: str, site_of: SiteOf) -> Entry:
    if line.startswith('{"actions":'):
        return _read(Mark, line)
    event, moment = event_of(line, site_of)
    return Occurred(event, moment)


def _read(kind: type[T], line: str) -> T:
    name = kind.__name__.lower()
    try:
        said: Mapping[str, object] = json.loads(line)
        return value_of(kind, said)
    except (ValueError, RecursionError):
        raise RecordingError(line, "not JSON", name) from None
    except NotOfTypeError as error:
        raise RecordingError(line, str(error), name) from None


def joined(parts: Iterable[Iterator[Entry]]) -> Iterator[Entry]:
    """Parts that follow each other, as one: of the later ones the beginnings are left out.

    Raises ``RecordingError`` where a part does not go on with the one before.
    """
    before: Head | None = None
    for part in parts:
        skip = 0
        for entry in part:
            if isinstance(entry, Head):
                if before is not None:
                    _check_goes_on(before, entry)
                    skip = entry.begins
                before = entry
            elif skip and isinstance(entry, Occurred):
                skip -= 1
                continue
            yield entry


def _check_goes_on(before: Head, head: Head) -> None:
    if head.recording != before.recording:
        why = f"it is of another recording than the file before, {before.recording!r}"
        raise RecordingError(line_of(head), why, "head")
    if head.part != before.part + 1:
        why = f"it is part {head.part}, the file before is part {before.part}"
        raise RecordingError(line_of(head), why, "head")
