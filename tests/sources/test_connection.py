"""One connection by itself: what it keeps back, and how it ends. Sources are tried beside it."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest

from bridge.sources import connection as subject
from bridge.sources.connection import Connection, Hello, Message
from bridge.sources.packets import Skipped
from tests.conftest import Mosquitto, Recorder
from tests.serving import Peer, speaking
from tests.sources.brokers import OddBroker, packet

pytestmark = pytest.mark.asyncio


@asynccontextmanager
async def connected(port: int, taken: list[Message | Skipped]) -> AsyncIterator[Connection]:
    """A connection that has greeted, closed at the end."""
    loop = asyncio.get_running_loop()
    _, connection = await loop.create_connection(
        lambda: Connection(taken.extend), "127.0.0.1", port
    )
    connection.greet(Hello("5", "lampwright-test", 30))
    try:
        yield connection
    finally:
        connection.close()
        await asyncio.wait({connection.ended}, timeout=2)


async def test_messages_are_kept_back_until_release(
    mosquitto: Mosquitto, recorder: Recorder
) -> None:
    """What comes with the subscription waits; then all of it comes, in order."""
    for number in range(3):
        mosquitto.publish(f"bench/{number}", b"%d" % number, "-r")
    taken: list[Message | Skipped] = []
    async with connected(mosquitto.port, taken) as connection:
        assert not (await connection.accepted).is_failure
        connection.subscribe(["bench/0", "bench/1", "bench/2"], "5")
        assert await connection.subscribed == ()
        await asyncio.sleep(0.2)
        assert taken == []
        connection.release()
        assert taken == [
            Message(f"bench/{number}", b"%d" % number, retained=True) for number in range(3)
        ]
        mosquitto.publish("bench/1", b"new")
        await recorder.until(lambda: len(taken) == 4)
    assert taken[3] == Message("bench/1", b"new", retained=False)


async def test_what_is_too_long_keeps_its_place(mosquitto: Mosquitto, recorder: Recorder) -> None:
    """Kept back with the others, and told among them, in the order in which all of it came."""
    too_long = subject.MOST_BYTES + 1
    mosquitto.publish("bench/0", b"first", "-r")
    mosquitto.publish("bench/1", bytes(too_long), "-r")
    mosquitto.publish("bench/2", b"last", "-r")
    taken: list[Message | Skipped] = []
    async with connected(mosquitto.port, taken) as connection:
        assert not (await connection.accepted).is_failure
        connection.subscribe(["bench/0", "bench/1", "bench/2"], "5")
        assert await connection.subscribed == ()
        assert taken == []
        connection.release()
        await recorder.until(lambda: len(taken) == 3)
    # The packet: its topic with two bytes of length before it, no properties, the payload.
    assert taken == [
        Message("bench/0", b"first", retained=True),
        Skipped("bench/1", 2 + len("bench/1") + 1 + too_long, retained=True),
        Message("bench/2", b"last", retained=True),
    ]


async def test_what_is_kept_back_is_bounded(
    mosquitto: Mosquitto, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A broker full of large retained messages ends in a sentence, not in a full memory."""
    monkeypatch.setattr(subject, "_MOST_HELD_BYTES", 1000)
    taken: list[Message | Skipped] = []
    async with connected(mosquitto.port, taken) as connection:
        await connection.accepted
        connection.subscribe(["bench/#"], "5")
        await connection.subscribed
        mosquitto.publish("bench/1", bytes(600))
        mosquitto.publish("bench/1", bytes(600))
        await recorder.until(connection.ended.done)
        assert connection.ended.result().failure.why == "more retained messages than fit in memory"
    assert taken == []


async def test_nothing_to_subscribe_to(mosquitto: Mosquitto) -> None:
    """A broker that is only published to is up as well."""
    async with connected(mosquitto.port, []) as connection:
        await connection.accepted
        connection.subscribe([], "5")
        assert await connection.subscribed == ()


async def test_the_end_is_told_once_and_calls_after_it_do_nothing() -> None:
    """Whoever holds on to a dead connection harms nobody."""
    async with speaking(OddBroker(parting=b"\xe0\x01\x8b")) as (url, _):
        port = int(url.rpartition(":")[2])
        async with connected(port, []) as connection:
            await connection.accepted
            connection.subscribe(["bench/#"], "5")
            ended = await asyncio.wait_for(connection.ended, 2)
            connection.publish("bench/1", b"late")
            connection.subscribe(["bench/1"], "5")
            connection.greet(Hello("5", "lampwright-test", 30))
            connection.close()
    # MQTT 5.0 §2.4: 139, server shutting down.
    assert ended.code == 139
    assert ended.failure.why == "the broker ended the connection: server shutting down"


async def test_whoever_keeps_talking_is_there() -> None:
    """A broker too busy to answer a ping, but not to send messages, is not given up."""

    async def script(
        _peer: Peer, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        await packet(reader)
        writer.write(b"\x20\x03\x00\x00\x00")
        for _ in range(18):
            writer.write(b"\x30\x07\x00\x03top\x00!")
            await asyncio.sleep(0.2)

    taken: list[Message | Skipped] = []
    async with speaking(script) as (url, _):
        port = int(url.rpartition(":")[2])
        _, connection = await asyncio.get_running_loop().create_connection(
            lambda: Connection(taken.extend), "127.0.0.1", port
        )
        connection.greet(Hello("5", "lampwright-test", 1))
        connection.release()
        await asyncio.wait_for(connection.ended, 10)
    assert taken == [Message("top", b"!", retained=False)] * 18
