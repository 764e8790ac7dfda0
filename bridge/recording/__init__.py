"""The one format of events and actions for recording, replay and campaign."""

from bridge.recording.canonical import action_text, event_of, event_text
from bridge.recording.errors import RecordingError

__all__ = ["RecordingError", "action_text", "event_of", "event_text"]
