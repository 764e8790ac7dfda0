"""A site whose daemon answers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge.service.socket_path import socket_path
from tests.cli.commands import CONFIG
from tests.cli.local_daemon import LocalDaemon


@pytest.fixture
def local_daemon(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[LocalDaemon]:
    """The daemon of the example site, as far as its local socket goes."""
    monkeypatch.setenv("RUNTIME_DIRECTORY", str(tmp_path))
    daemon = LocalDaemon()
    with daemon.listening(socket_path(CONFIG, {"RUNTIME_DIRECTORY": str(tmp_path)})):
        yield daemon
