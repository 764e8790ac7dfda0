"""A simulated printer on a real mosquitto: what it says, and what the broker says of it."""

from __future__ import annotations

import asyncio
import queue
import time
from collections.abc import Iterator
from contextlib import suppress

import pytest
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from bridge.simulator.brokers import Broker, mosquitto_path, start_broker
from bridge.simulator.life import Doing, Life, Stretch
from bridge.simulator.printers import LogBook, Pieces, Talker
from bridge.simulator.publisher import Publisher

#: On for 0.6 s, off for 0.6 s, and on again.
LIFE = Life([Stretch(Doing.RESTING, 600), Stretch(Doing.OFF, 600), Stretch(Doing.WARMING, 600)])


@pytest.fixture(scope="module")
def broker() -> Iterator[Broker]:
    """A mosquitto of our own."""
    broker = start_broker(mosquitto_path())
    yield broker
    broker.stop()


class Ear:
    """Everything that a broker delivers, in order."""

    def __init__(self, port: int) -> None:
        self._heard: queue.SimpleQueue[tuple[str, bytes]] = queue.SimpleQueue()
        self.client = Client(CallbackAPIVersion.VERSION2)
        self.client.on_message = lambda _client, _userdata, message: self._heard.put(
            (message.topic, bytes(message.payload))
        )
        self.client.connect("127.0.0.1", port)
        self.client.subscribe("alder/#")
        self.client.loop_start()

    def close(self) -> None:
        """Leave."""
        self.client.disconnect()
        self.client.loop_stop()

    def heard(self) -> list[tuple[str, bytes]]:
        """Everything so far."""
        messages = []
        with suppress(queue.Empty):
            while True:
                messages.append(self._heard.get_nowait())
        return messages


async def lived(
    printer: Talker, port: int, seconds: float, ask: str | None = None
) -> list[tuple[str, bytes]]:
    """What is heard of a printer in so many seconds of its life."""
    ear = Ear(port)
    start = time.monotonic()
    publisher = Publisher(
        printer, "127.0.0.1", port, lambda: int((time.monotonic() - start) * 1000)
    )
    task = asyncio.create_task(publisher.live())
    if ask:
        await asyncio.sleep(0.3)
        ear.client.publish(ask, b'{"pages": "all"}')
    await asyncio.sleep(seconds - (0.3 if ask else 0))
    task.cancel()
    with suppress(asyncio.CancelledError):
        await task
    ear.close()
    return ear.heard()


@pytest.mark.asyncio
async def test_a_power_cut_is_told_by_the_broker(broker: Broker) -> None:
    """The printer comes, drops off without a word, and introduces itself again."""
    printer = Pieces("kestrel", LIFE, "alder/kestrel")
    heard = await lived(printer, broker.port, 1.6)
    links = [payload for topic, payload in heard if topic == "alder/kestrel/aboard"]
    assert links[:3] == [b"aye", b"gone", b"aye"]
    gone = heard.index(("alder/kestrel/aboard", b"gone"))
    assert ("alder/kestrel/doing", b"ashore") in heard[:gone]
    assert ("alder/kestrel/doing", b"warming") in heard[gone:]


@pytest.mark.asyncio
async def test_a_printer_answers_who_asks(broker: Broker) -> None:
    """Over its topic for questions."""
    heard = await lived(LogBook("heron", LIFE, "alder/heron"), broker.port, 0.5, "alder/heron/tell")
    pages = [payload for topic, payload in heard if topic == "alder/heron/log"]
    assert pages == [b'{"entry":1,"hand":"aside"}', b'{"entry":2,"hand":"aside"}']


@pytest.mark.asyncio
async def test_a_broker_that_is_not_there_is_waited_for() -> None:
    """Neither an error nor a tight loop."""
    publisher = Publisher(Pieces("kestrel", LIFE, "alder/kestrel"), "127.0.0.1", 1, lambda: 0)
    with pytest.raises(TimeoutError):
        await asyncio.wait_for(publisher.live(), 0.2)
    assert publisher.published == 0
