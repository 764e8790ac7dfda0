"""The one format of events and actions for recording, replay and campaign."""

from bridge.recording.canonical import (
    RecordingError,
    action_text,
    event_of,
    event_text,
)

__all__ = ["RecordingError", "action_text", "event_of", "event_text"]
