"""The room with a broker that runs."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest_asyncio

from tests.conftest import Mosquitto
from tests.end_to_end.workroom import Room, workroom


@pytest_asyncio.fixture
async def room(tmp_path: Path, mosquitto: Mosquitto) -> AsyncIterator[Room]:
    """The example site on the loopback, its broker up."""
    folder = tmp_path / "room"
    folder.mkdir()
    async with workroom(folder, mosquitto) as made:
        yield made
