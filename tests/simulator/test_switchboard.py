"""The switchboard: what is wrong is told, switched and mended over HTTP."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Any

import aiohttp
import pytest
import pytest_asyncio

from bridge.simulator.controllers import SimulatedController
from bridge.simulator.evening import controllers, guests
from bridge.simulator.faults import Faults
from bridge.simulator.switchboard import switchboard


@pytest.fixture
def boards() -> dict[str, SimulatedController]:
    """All five."""
    return controllers() | guests()


@pytest_asyncio.fixture
async def url(boards: dict[str, SimulatedController]) -> AsyncIterator[str]:
    """Where the switchboard is."""
    server = switchboard(boards, lambda: 9000)
    yield await server.start()
    await server.stop()


async def asked(method: str, url: str, body: bytes | None = None) -> tuple[int, Any]:
    """Status and answer."""
    async with (
        aiohttp.ClientSession() as session,
        session.request(method, url, data=body) as answer,
    ):
        return answer.status, await answer.json()


@pytest.mark.asyncio
async def test_everything_is_told(url: str, boards: dict[str, SimulatedController]) -> None:
    """Of each by its name."""
    status, told = await asked("GET", url)
    assert status == 200
    assert told.keys() == boards.keys()
    assert told["yard"] == (await asked("GET", f"{url}/yard"))[1]
    assert told["yard"]["faults"]["delay_ms"] == [0, 0]


@pytest.mark.asyncio
async def test_faults_come_and_go(url: str, boards: dict[str, SimulatedController]) -> None:
    """Only those that were named, of the one that was named."""
    await asked("PUT", f"{url}/pier", b'{"delay_ms": [5, 900]}')
    status, told = await asked("PUT", f"{url}/pier", b'{"loses": 3}')
    assert (status, told["faults"]["loses"]) == (200, 3)
    assert boards["pier"].faults == Faults(delay_ms=(5, 900), loses=3)
    assert boards["yard"].faults == Faults()
    assert (await asked("DELETE", f"{url}/pier"))[0] == 200
    assert boards["pier"].faults == Faults()


@pytest.mark.asyncio
async def test_things_happen(url: str, boards: dict[str, SimulatedController]) -> None:
    """The power goes for a moment; somebody is at the button."""
    await asked("POST", f"{url}/door/reboot")
    assert (boards["door"].board.boots, boards["door"].board.booted_ms) == (2, 9000)
    await asked("POST", f"{url}/yard/darken")
    assert not any(boards["yard"].pixels(9000))


@pytest.mark.asyncio
@pytest.mark.parametrize(
    ("method", "path", "body", "status", "why"),
    [
        ("GET", "/attic", None, 404, "no controller attic, expected door, rack"),
        ("POST", "/door/sing", None, 404, "nothing at POST /NAME/sing"),
        ("PUT", "/door", b"[]", 422, "expected an object of faults"),
        ("PUT", "/door", b"{", 422, ""),
        ("PUT", "/door", b'{"sulks": 1}', 422, "no fault is called sulks"),
    ],
)
async def test_nonsense_is_said(
    url: str, method: str, path: str, body: bytes | None, status: int, why: str
) -> None:
    """In a sentence."""
    answered, told = await asked(method, url + path, body)
    assert answered == status
    assert told["why"].startswith(why)
