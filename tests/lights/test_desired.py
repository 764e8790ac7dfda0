"""What was decided for a segment."""

from __future__ import annotations

from bridge.lights.desired import Desired
from tests.lights.board import BLUE, RED


def test_it_weighs_nothing_unless_it_is_said() -> None:
    """A look alone is no alarm, and no graver than any other."""
    plain = Desired(RED)
    assert (plain.gravity, plain.is_alarm, plain.is_new) == (0, False, False)
    assert plain != Desired(BLUE)
