"""The stage: one clock, everything reachable inside it, nothing left after it."""

from __future__ import annotations

import asyncio

import aiohttp
import pytest
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion

from bridge.simulator.brokers import mosquitto_path, start_broker
from bridge.simulator.evening import (
    BUTTONS,
    LOST_WRITES,
    PRESSED,
    REFUSED_REQUESTS,
    Mishap,
    controllers,
    evening,
)
from bridge.simulator.reference import Press
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


@pytest.mark.asyncio
async def test_buttons_speak_at_their_time() -> None:
    """One message each, on a topic of its own, in order."""
    broker = start_broker(mosquitto_path())
    clock = StageClock()
    loop, heard = asyncio.get_running_loop(), asyncio.Queue[tuple[str, bytes]]()
    subscribed = asyncio.Event()
    client = Client(CallbackAPIVersion.VERSION2)

    def hear(_client: Client, _data: object, message: MQTTMessage) -> None:
        loop.call_soon_threadsafe(heard.put_nowait, (message.topic, bytes(message.payload)))

    def be_ready(*_: object) -> None:
        loop.call_soon_threadsafe(subscribed.set)

    client.on_message, client.on_subscribe = hear, be_ready
    try:
        client.connect("127.0.0.1", broker.port)
        client.loop_start()
        client.subscribe("alder/+/button", 1)
        await asyncio.wait_for(subscribed.wait(), 5)
        stage = Stage(evening(60), {}, broker.port, clock)
        clock.rise()
        await asyncio.wait_for(stage.press([Press(20, "bench"), Press(10, "lathe")]), 5)
        said = [await asyncio.wait_for(heard.get(), 5) for _ in range(2)]
        assert said == [(BUTTONS[name], PRESSED.encode()) for name in ("lathe", "bench")]
    finally:
        client.disconnect()
        client.loop_stop()
        broker.stop()
