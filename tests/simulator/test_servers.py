"""Controllers and the polled printer on real sockets, with every fault a client can meet."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from typing import Literal

import aiohttp
import pytest
import pytest_asyncio

from bridge.simulator.bars import Bars
from bridge.simulator.life import Doing, Life, Stretch
from bridge.simulator.pixels import POWER_UP
from bridge.simulator.printers import Ledger
from bridge.simulator.servers import Server, controller_server, printer_server

WISH = {"paint": "ff0000", "drive": 4095, "motion": "plain"}
RED = bytes((255, 0, 0))


class Hands:
    """A clock that a test sets by hand."""

    def __init__(self) -> None:
        self.now_ms = 0

    def __call__(self) -> int:
        """What they point at."""
        return self.now_ms


@pytest.fixture
def clock() -> Hands:
    """Midnight."""
    return Hands()


@pytest.fixture
def bars() -> Bars:
    """One bar of two cells."""
    return Bars("D-4", 2, {1: (0, 2)})


@pytest_asyncio.fixture
async def door(bars: Bars, clock: Hands) -> AsyncIterator[Server]:
    """The bar at a free port."""
    server = controller_server(bars, clock)
    await server.start()
    yield server
    await server.stop()


@pytest_asyncio.fixture
async def client() -> AsyncIterator[aiohttp.ClientSession]:
    """A client that waits a fifth of a second at most."""
    async with aiohttp.ClientSession(timeout=aiohttp.ClientTimeout(total=0.2)) as session:
        yield session


@pytest.mark.asyncio
async def test_a_controller_answers_and_shows(
    door: Server, bars: Bars, client: aiohttp.ClientSession
) -> None:
    """What came over the socket is what the pixels give off."""
    async with client.put(f"{door.url}/bars/1", json=WISH) as reply:
        assert (reply.status, await reply.json()) == (200, {"done": True})
    assert bars.pixels(0) == RED * 2
    async with client.get(f"{door.url}/bars") as reply:
        assert (await reply.json())["list"][0]["paint"] == "ff0000"


@pytest.mark.asyncio
async def test_a_query_reaches_the_controller(door: Server, client: aiohttp.ClientSession) -> None:
    """Path and query are told apart."""
    async with client.get(f"{door.url}/who?to=1") as reply:
        assert reply.status == 200


@pytest.mark.asyncio
async def test_a_refusing_controller(
    door: Server, bars: Bars, client: aiohttp.ClientSession
) -> None:
    """Answers 500 and does nothing."""
    bars.faults.status = 500
    async with client.put(f"{door.url}/bars/1", json=WISH) as reply:
        assert reply.status == 500
    assert bars.pixels(0) == POWER_UP * 2


@pytest.mark.asyncio
async def test_a_dropping_controller(
    door: Server, bars: Bars, client: aiohttp.ClientSession
) -> None:
    """Hangs up and does nothing."""
    bars.faults.drops = True
    with pytest.raises(aiohttp.ClientConnectionError):
        await client.put(f"{door.url}/bars/1", json=WISH)
    assert bars.pixels(0) == POWER_UP * 2


@pytest.mark.asyncio
async def test_a_hanging_controller_may_have_done_it(
    door: Server, bars: Bars, client: aiohttp.ClientSession
) -> None:
    """No answer comes, and yet the pixels changed: the case that read-back is for."""
    bars.faults.hangs = True
    with pytest.raises(TimeoutError):
        await client.put(f"{door.url}/bars/1", json=WISH)
    assert bars.pixels(0) == RED * 2


@pytest.mark.asyncio
async def test_a_slow_controller(door: Server, bars: Bars, client: aiohttp.ClientSession) -> None:
    """Later than the client waits is no answer; sooner is one."""
    bars.faults.delay_ms = (20, 20)
    async with client.put(f"{door.url}/bars/1", json=WISH) as reply:
        assert reply.status == 200
    bars.faults.delay_ms = (2000, 2000)
    with pytest.raises(TimeoutError):
        await client.get(f"{door.url}/bars")


@pytest.mark.asyncio
async def test_a_busy_controller(
    door: Server, bars: Bars, clock: Hands, client: aiohttp.ClientSession
) -> None:
    """So many in any second; the next is told so, or hung up on, and does nothing."""
    bars.faults.bears = 2
    statuses = []
    for clock.now_ms in (0, 500, 999, 1001):
        async with client.put(f"{door.url}/bars/1", json=WISH) as reply:
            statuses.append((reply.status, reply.headers.get("Retry-After")))
    assert statuses == [(200, None), (200, None), (429, "1"), (429, "1")]
    bars.faults.too_many, clock.now_ms = "hangs up", 1002
    with pytest.raises(aiohttp.ClientConnectionError):
        await client.get(f"{door.url}/bars")
    assert bars.writes == 2


@pytest.mark.asyncio
async def test_a_controller_of_one_connection(
    door: Server, bars: Bars, client: aiohttp.ClientSession
) -> None:
    """A second client is hung up on until the first is gone."""
    bars.faults.one_connection = True
    async with aiohttp.ClientSession() as first:
        await first.get(f"{door.url}/bars")
        await first.get(f"{door.url}/bars")
        with pytest.raises(aiohttp.ClientConnectionError):
            await client.get(f"{door.url}/bars")
    await asyncio.sleep(0.05)
    async with client.get(f"{door.url}/bars") as reply:
        assert reply.status == 200


@pytest.mark.asyncio
async def test_a_controller_that_hangs_up_after_each_answer(door: Server, bars: Bars) -> None:
    """As it announces, or without a word."""
    host, port = door.url.removeprefix("http://").split(":")
    heads = {}
    ways: tuple[Literal["as announced", "unannounced"], ...] = ("as announced", "unannounced")
    for how in ways:
        bars.faults.hangs_up_after = how
        reader, writer = await asyncio.open_connection(host, int(port))
        writer.write(b"GET /who HTTP/1.1\r\nHost: door\r\n\r\n")
        heads[how] = await asyncio.wait_for(reader.read(), 2)
        writer.close()
    assert b"Connection: close" in heads["as announced"]
    assert b"Connection: close" not in heads["unannounced"]
    assert all(head.startswith(b"HTTP/1.1 200") for head in heads.values())


@pytest.mark.asyncio
async def test_a_stopped_server_is_not_there(door: Server, client: aiohttp.ClientSession) -> None:
    """Connections are refused, at once."""
    await door.stop()
    with pytest.raises(aiohttp.ClientConnectorError):
        await client.get(f"{door.url}/bars")


@pytest.mark.asyncio
async def test_a_polled_printer_lives(clock: Hands, client: aiohttp.ClientSession) -> None:
    """Answers while it has power, hangs up while it has none, answers again."""
    life = Life(
        [Stretch(Doing.RESTING, 1000), Stretch(Doing.OFF, 1000), Stretch(Doing.WARMING, 1000)]
    )
    server = printer_server(Ledger("plover", life), clock)
    url = f"{await server.start()}/ledger"
    codes = []
    for clock.now_ms in (0, 1500, 2500):
        try:
            async with client.post(url, json={"turn": "last"}) as reply:
                codes.append(json.loads(await reply.read())["duty"]["code"])
        except aiohttp.ClientConnectionError:
            codes.append(None)
    await server.stop()
    assert codes == [7, None, 12]
