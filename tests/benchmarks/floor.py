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

import aiohttp
import paho.mqtt.client as mqtt


def subscribe(port: int, topic: str, heard: Callable[[bytes], None]) -> mqtt.Client:
    """A client driven by the running loop."""
    loop = asyncio.get_running_loop()
    client = mqtt.Client(mqtt.CallbackAPIVersion.VERSION2, protocol=mqtt.MQTTv5)
    client.on_socket_open = lambda _c, _u, sock: loop.add_reader(sock, client.loop_read)
    client.on_socket_close = lambda _c, _u, sock: loop.remove_reader(sock)
    client.on_socket_register_write = lambda _c, _u, sock: loop.add_writer(sock, client.loop_write)
    client.on_socket_unregister_write = lambda _c, _u, sock: loop.remove_writer(sock)
    client.on_connect = lambda *_: client.subscribe(topic)
    client.on_subscribe = lambda *_: print("ready", flush=True)
    client.on_message = lambda _c, _u, message: heard(message.payload)
    client.connect("127.0.0.1", port)
    return client


async def latency(port: int, url: str) -> None:
    """Each message that says another word than the last is put to the peer at once."""
    async with aiohttp.ClientSession() as session:
        tasks: set[asyncio.Task[None]] = set()
        last = ""

        async def put(colour: str) -> None:
            body = json.dumps({"paint": colour, "drive": 255, "motion": "plain"}).encode()
            async with session.put(url, data=body) as answer:
                await answer.read()

        def heard(payload: bytes) -> None:
            nonlocal last
            said = json.loads(payload)["doing"]
            if said != last:
                last = said
                task = asyncio.create_task(put("00ff00" if said == "at it" else "0000ff"))
                tasks.add(task)
                task.add_done_callback(tasks.discard)

        subscribe(port, "bench/#", heard)
        await asyncio.Event().wait()


async def throughput(port: int, messages: int) -> None:
    """Decode and compare only; prints the seconds between the first and the last message."""
    done = asyncio.Event()
    count, first, last = 0, 0.0, ""

    def heard(payload: bytes) -> None:
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
