"""The barest script for the job: paho on the loop's own reader, json, one kept-alive PUT.

Run as a child: ``python -m tests.benchmarks.floor latency|throughput PORT …``. No rules, no
freshness, no limits, no read-back, nothing checked: what the libraries cost by themselves.
"""

from __future__ import annotations

import asyncio
import json
import sys
import time
from collections.abc import Callable
from typing import Any

import aiohttp
import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion


def subscribe(port: int, topic: str, heard: Callable[[str, bytes], None]) -> mqtt.Client:
    """A client driven by the running loop."""
    loop = asyncio.get_running_loop()
    client = mqtt.Client(CallbackAPIVersion.VERSION2, protocol=mqtt.MQTTv5)

    def opened(_client: mqtt.Client, _data: object, line: Any) -> None:  # noqa: ANN401 - as paho
        loop.add_reader(line, client.loop_read)

    def closed(_client: mqtt.Client, _data: object, line: Any) -> None:  # noqa: ANN401 - as paho
        loop.remove_reader(line)

    def wants(_client: mqtt.Client, _data: object, line: Any) -> None:  # noqa: ANN401 - as paho
        loop.add_writer(line, client.loop_write)

    def wants_no_more(_client: mqtt.Client, _data: object, line: Any) -> None:  # noqa: ANN401 - as paho
        loop.remove_writer(line)

    def connected(*_: object) -> None:
        client.subscribe(topic)

    def subscribed(*_: object) -> None:
        print("ready", flush=True)

    def message(_client: mqtt.Client, _data: object, said: mqtt.MQTTMessage) -> None:
        heard(said.topic, bytes(said.payload))

    client.on_socket_open, client.on_socket_close = opened, closed
    client.on_socket_register_write, client.on_socket_unregister_write = wants, wants_no_more
    client.on_connect, client.on_subscribe, client.on_message = connected, subscribed, message
    client.connect("127.0.0.1", port)
    return client


async def latency(port: int, url: str) -> None:
    """Each message that says another word than the last is put to the peer at once."""
    async with aiohttp.ClientSession() as session:
        tasks: set[asyncio.Task[None]] = set()
        last: dict[str, str] = {}

        async def put(colour: str) -> None:
            body = json.dumps({"paint": colour, "drive": 255, "motion": "plain"}).encode()
            async with session.put(url, data=body) as answer:
                await answer.read()

        def heard(topic: str, payload: bytes) -> None:
            said = json.loads(payload)["doing"]
            if said != last.get(topic):
                last[topic] = said
                task = asyncio.create_task(put("00ff00" if said == "at it" else "0000ff"))
                tasks.add(task)
                task.add_done_callback(tasks.discard)

        subscribe(port, "bench/#", heard)
        await asyncio.Event().wait()


async def throughput(port: int, messages: int) -> None:
    """Decode and compare only; prints the seconds between the first and the last message."""
    done = asyncio.Event()
    count, first, last = 0, 0.0, ""

    def heard(_topic: str, payload: bytes) -> None:
        nonlocal count, first, last
        if not count:
            first = time.perf_counter()
        count += 1
        said = json.loads(payload)["doing"]
        if said != last:
            last = said
        if count == messages:
            done.set()

    subscribe(port, "bench/#", heard)
    await done.wait()
    print(time.perf_counter() - first, flush=True)


if __name__ == "__main__":
    if sys.argv[1] == "latency":
        asyncio.run(latency(int(sys.argv[2]), sys.argv[3]))
    else:
        asyncio.run(throughput(int(sys.argv[2]), int(sys.argv[3])))
