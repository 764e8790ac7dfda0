"""What a recording is refused with."""

from __future__ import annotations

from typing import Final

from bridge.errors import LampwrightError

_SHOWN: Final = 80


class RecordingError(LampwrightError):
    """A text that no event, and a plain value that no record, can be made of."""

    def __init__(self, text: str, why: str, kind: str = "event", place: str = "") -> None:
        shown = text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"
        super().__init__(f"{place}not a recorded {kind}: {why}: {shown!r}")
        self._said = text, why, kind
        self._place = place

    def at_line(self, number: int) -> RecordingError:
        """The same with the line where it stands."""
        return RecordingError(*self._said, f"line {number}: ")

    def in_file(self, file: str) -> RecordingError:
        """The same with its file."""
        return RecordingError(*self._said, f"{file}: {self._place}")
