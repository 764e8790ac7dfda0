"""``lampwright collected``; which one it means is tried in test_occurrences."""

from __future__ import annotations

import pytest

from bridge.engine.wishes import Collected
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.cli.local_daemon import LocalDaemon, picture, prompt


def test_it_wishes_that(local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]) -> None:
    """A prompt that waits is done."""
    local_daemon.view = picture(prompts=(prompt("collect", "kestrel", "k-1"),))
    code, said, _ = lampwright(capsys, "collected", CONFIG, "--json", "--who", "Ada")
    hold_to_shape(said, "wish")
    assert (code, local_daemon.wishes) == (0, [("Ada", Collected("k-1"))])
