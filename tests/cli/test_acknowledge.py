"""``lampwright acknowledge``; which one it means is tried in test_occurrences."""

from __future__ import annotations

import pytest

from bridge.engine.wishes import Acknowledge
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.cli.local_daemon import LocalDaemon, alarm, picture


def test_it_wishes_that(local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]) -> None:
    """An alarm that stands is acknowledged by the occurrence that was seen."""
    local_daemon.view = picture((alarm("jam", "kestrel", "unacknowledged", "k-1"),))
    code, said, _ = lampwright(capsys, "acknowledge", CONFIG, "--json", "--who", "Ada")
    hold_to_shape(said, "wish")
    assert (code, local_daemon.wishes) == (0, [("Ada", Acknowledge("k-1"))])
