"""What a recording is refused with."""

from __future__ import annotations

from typing import Final

from bridge.errors import LampwrightError

_SHOWN: Final = 80


class RecordingError(LampwrightError):
    """A text that no event, and a plain value that no record, can be made of."""

    def __init__(self, text: str, why: str, kind: str = "event") -> None:
        shown = text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"
        super().__init__(f"not a recorded {kind}: {why}: {shown!r}")
