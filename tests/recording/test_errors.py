"""The error says why, and shows enough of what was refused to find it."""

from __future__ import annotations

from bridge.recording import RecordingError


def test_a_long_line_is_shortened() -> None:
    """A recorded message may be a megabyte."""
    assert str(RecordingError("x" * 81, "why")) == f"not a recorded event: why: '{'x' * 80}…'"
    assert str(RecordingError("x" * 80, "why", "hold")).endswith(f"hold: why: '{'x' * 80}'")
