"""The stage: one clock, everything reachable inside it, nothing left after it."""

from __future__ import annotations

import asyncio

import aiohttp
import pytest

from bridge.simulator.brokers import mosquitto_path, start_broker
from bridge.simulator.evening import LOST_WRITES, REFUSED_REQUESTS, Mishap, controllers, evening
from bridge.simulator.stage import Stage, StageClock, running_ms


def test_the_clock_waits_for_the_curtain() -> None:
    """It stands at nought, and then goes."""
    clock = StageClock()
    assert (clock(), clock()) == (0, 0)
    clock.rise()
    assert 0 <= clock() < 1000


@pytest.mark.asyncio
async def test_everything_is_up_inside_and_gone_after() -> None:
    """Three controllers and the polled printer; each mishap at its time."""
    broker = start_broker(mosquitto_path())
    clock = StageClock()
    boards = controllers(now_ms=running_ms())
    try:
        async with (
            Stage(evening(60), boards, broker.port, clock) as stage,
            aiohttp.ClientSession() as client,
        ):
            assert set(stage.urls) == {"door", "rack", "bench", "plover"}
            for name, path in [("door", "/who"), ("rack", "/plate"), ("bench", "/tag")]:
                async with client.get(stage.urls[name] + path) as reply:
                    assert reply.status == 200
            async with client.post(
                f"{stage.urls['plover']}/ledger", json={"turn": "last"}
            ) as reply:
                assert (await reply.json())["duty"]["code"] == 12
            clock.rise()
            await asyncio.wait_for(
                stage.befall(
                    [
                        Mishap(10, "door", "reboots"),
                        Mishap(20, "rack", "refuses"),
                        Mishap(30, "bench", "loses writes"),
                    ]
                ),
                2,
            )
            assert boards["door"].board.boots == 2
            assert boards["rack"].faults.refuses == REFUSED_REQUESTS
            assert boards["bench"].faults.loses == LOST_WRITES
            url = stage.urls["door"]
        async with aiohttp.ClientSession() as client:
            with pytest.raises(aiohttp.ClientConnectorError):
                await client.get(url)
    finally:
        broker.stop()
