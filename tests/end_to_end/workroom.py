"""A workroom on the loopback: real controllers' servers, a polled page, and the bridge as a child.

The site is the example with addresses of ours and short waiting times. What the boards show is
asked of the boards, what the bridge says is read from its log, as a person would do both.
"""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import AsyncIterator, Awaitable, Callable, Iterator, Mapping
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from aiohttp import web
from ruamel.yaml import YAML

from bridge.cli.hurried import Addresses, example_directory, hurry
from bridge.simulator.bars import FULL_DRIVE
from bridge.simulator.controllers import SimulatedController
from bridge.simulator.evening import controllers, guests
from bridge.simulator.servers import Server, controller_handler
from bridge.simulator.stage import running_ms
from tests.conftest import Mosquitto

#: What a test waits for at most, in seconds, where no promise says less.
PATIENCE_S = 10.0
#: From a publish to the pixels, as the site's owner is promised.
PROMPT_S = 1.0
#: How long the door may take to answer.
DOOR_TIMEOUT_MS = 800

#: plover at rest, as the reader "ledger" has it.
RESTING_PAGE: Mapping[str, object] = {
    "duty": {"code": 7, "halted": False, "closed": None},
    "work": {"name": None, "share": -1, "left": None},
    "heat": [-1, -1],
    "trips": 0,
}

#: What a bar of the controller "door" is told for a scene of the legend, by hand: the role's
#: colour, the brightness of 4095, and the motion whose period is within the rate.
Told = tuple[str, int, str]
TROUBLE: Told = ("ff2a1a", FULL_DRIVE, "beat")
#: An alarm that nobody has acknowledged, so at the normal rate (ISA-18.1).
FEED_ME: Told = ("2a60ff", round(0.8 * FULL_DRIVE), "beat")
SEE_ME: Told = ("ffb000", FULL_DRIVE, "toll")
LOOK_IN: Told = ("ffb000", FULL_DRIVE, "plain")
FETCH_ME: Told = ("2a60ff", round(0.6 * FULL_DRIVE), "plain")

Misbehaviour = Callable[[web.Request], Awaitable[web.StreamResponse]]


@dataclass
class Seen:
    """A request as it came to a controller."""

    method: str
    target: str
    body: bytes


class Place:
    """One controller at its address, with a board that can be told to misbehave."""

    def __init__(self, board: SimulatedController) -> None:
        self.board = board
        self.requests: list[Seen] = []
        self.odd: Misbehaviour | None = None
        self.url = ""
        self._does = controller_handler(board, running_ms)
        self._server = Server(self._handle)

    async def start(self) -> None:
        """Listen, at the address it had before if it had one."""
        port = int(self.url.rpartition(":")[2]) if self.url else 0
        self.url = await self._server.start(port)

    async def stop(self) -> None:
        """Be gone: connections end, and nobody listens."""
        await self._server.stop()

    async def _handle(self, request: web.Request) -> web.StreamResponse:
        body = await request.read()
        self.requests.append(Seen(request.method, str(request.rel_url), body))
        if self.odd is not None:
            return await self.odd(request)
        return await self._does(request)

    def shows(self) -> list[str]:
        """The requests that changed what it shows, as method and target."""
        return [f"{seen.method} {seen.target}" for seen in self.requests if seen.method != "GET"]


@dataclass
class Room:
    """Everything but the bridge."""

    folder: Path
    site: Path
    broker: Mosquitto
    places: dict[str, Place]
    #: What plover answers; ``None`` hangs up.
    page: bytes | None = field(default_factory=lambda: json.dumps(RESTING_PAGE).encode())
    polls: int = 0

    @property
    def door(self) -> Place:
        """The controller of kestrel's frame."""
        return self.places["door"]

    def bar(self, number: int = 1) -> Told | None:
        """What a bar of the door was told; ``None`` where it was painted."""
        status, answer = self.door.board.handle("GET", "/bars", {}, {}, b"", running_ms())
        assert status == 200
        bar = next(each for each in json.loads(answer)["list"] if each["bar"] == number)
        return None if "cells" in bar else (bar["paint"], bar["drive"], bar["motion"])

    def frame_cells(self) -> list[bytes]:
        """The pixels of kestrel's frame."""
        pixels = self.door.board.pixels(running_ms())
        return [pixels[3 * index : 3 * index + 3] for index in range(120)]

    @property
    def not_known(self) -> bool:
        """Whether kestrel's frame says so: every third pixel neutral at 25 %, the rest dark."""
        neutral = bytes(round(part * 0.25) for part in (0xD8, 0xD8, 0xD0))
        cells = self.frame_cells()
        lit, dark = cells[0::3], {*cells[1::3], *cells[2::3]}
        near = all(
            abs(is_ - was) <= 1 for cell in lit for is_, was in zip(cell, neutral, strict=True)
        )
        return near and dark == {b"\0\0\0"}

    @property
    def filled(self) -> int:
        """How many of the frame's pixels a gauge fills: the healthy green, not its trough."""
        return sum(green > 0x24 and blue < green for _, green, blue in self.frame_cells())

    async def publish(self, topic: str, payload: bytes, *options: str) -> None:
        """With mosquitto's own command."""
        await asyncio.to_thread(self.broker.publish, topic, payload, *options)

    async def press(self) -> None:
        """Somebody at the lathe has seen it."""
        await self.publish("alder/lathe/button", b"pressed")

    async def kestrel(self, doing: str, **more: str) -> None:
        """Publish what kestrel says, its duty last."""
        for message, text in {**more, "doing": doing}.items():
            topic = f"alder/kestrel/{message.replace('_', '/')}"
            await self.publish(topic, text.encode())


class Bridge:
    """The real daemon in a process of its own."""

    def __init__(self, room: Room, *options: str, name: str = "bridge") -> None:
        self._log = room.folder / f"{name}.log"
        self._output = room.folder / f"{name}.out"
        self._summary = room.folder / f"{name}.json"
        own = () if "--dry-run" in options else ("--summary", str(self._summary))
        command = [sys.executable, "-m", "bridge", "run", str(room.site), *own, *options]
        inherited = {k: v for k, v in os.environ.items() if k != "JOURNAL_STREAM"}
        own_places = dict.fromkeys(("RUNTIME_DIRECTORY", "STATE_DIRECTORY"), str(room.folder))
        environment = {**inherited, **own_places}
        with self._log.open("wb") as log, self._output.open("wb") as output:
            self.process = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=output, stderr=log, env=environment
            )

    @property
    def log(self) -> str:
        """Everything that it said so far."""
        return self._log.read_text("utf-8")

    @property
    def output(self) -> str:
        """Its standard output so far."""
        return self._output.read_text("utf-8")

    def lines(self, *words: str) -> list[str]:
        """The lines of its log that have all of these words."""
        return [line for line in self.log.splitlines() if all(word in line for word in words)]

    async def says(self, *words: str, seconds: float = PATIENCE_S) -> None:
        """Wait for a line of its log that has all of these words."""
        await until(lambda: self.lines(*words), f"{' … '.join(words)!r} in the log", self, seconds)

    async def is_up(self, room: Room) -> None:
        """Wait until it is subscribed and every controller shows what it was told."""
        await self.says("source is up")
        # Each of them has two segments.
        await until(
            lambda: all(len(place.shows()) >= 2 for place in room.places.values()),
            "every segment told",
            self,
        )

    async def end(self) -> int:
        """SIGTERM, and the exit code."""
        self.process.send_signal(signal.SIGTERM)
        return await asyncio.to_thread(self.process.wait, PATIENCE_S)

    async def ended(self) -> int:
        """The exit code of one that ends by itself."""
        return await asyncio.to_thread(self.process.wait, PATIENCE_S)

    def summary(self) -> dict[str, Any]:
        """What ``--summary`` holds."""
        content: dict[str, Any] = json.loads(self._summary.read_bytes())
        return content

    def kill(self) -> None:
        """End it at any rate."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()


async def until(
    met: Callable[[], object], what: str, bridge: Bridge, seconds: float = PATIENCE_S
) -> float:
    """Wait until it is so, and say how long it took; shows the log where it does not happen."""
    loop = asyncio.get_running_loop()
    began = loop.time()
    while not met():
        if loop.time() - began > seconds:
            pytest.fail(f"waited {seconds} s in vain for {what}; the log:\n{bridge.log}")
        await asyncio.sleep(0.01)
    return loop.time() - began


@contextmanager
def running(room: Room, *options: str, name: str = "bridge") -> Iterator[Bridge]:
    """The daemon, surely ended afterwards, and never with a trace."""
    bridge = Bridge(room, *options, name=name)
    try:
        yield bridge
    finally:
        bridge.kill()
    assert "Traceback" not in bridge.log
    assert "Exception" not in bridge.log


@contextmanager
def listening(room: Room, topic: str) -> Iterator[Callable[[], list[str]]]:
    """What is published on a topic from now on, heard by mosquitto's own command."""
    address = ("-h", room.broker.host, "-p", str(room.broker.port), "-t", topic)
    heard = room.folder / "heard"
    # -d tells on the same output when it is subscribed; it ends by itself.
    command = ["stdbuf", "-oL", "mosquitto_sub", *address, "-d", "-F", "%p", "-W", "30"]
    with heard.open("wb") as output:
        process = subprocess.Popen(command, stdout=output)

    def lines() -> list[str]:
        return heard.read_text("utf-8").splitlines()

    try:
        while not any(line.startswith("Subscribed") for line in lines()):
            assert process.poll() is None, lines()
            time.sleep(0.005)
        yield lambda: [line for line in lines() if line.startswith("{")]
    finally:
        process.kill()
        process.wait()


def _hurry_door(site: Path) -> None:
    """A door that hangs is given up sooner than the example has it."""
    dialect = site / "dialects" / "bars.yaml"
    text = dialect.read_text("utf-8")
    assert "timeout: 3s" in text
    dialect.write_text(text.replace("timeout: 3s", f"timeout: {DOOR_TIMEOUT_MS} ms"), "utf-8")


def _invite(site: Path, urls: Mapping[str, str]) -> None:
    """Write the two guests into the site, each with a segment that tells of kestrel."""
    path = site / "site.yaml"
    document = YAML().load(path)
    document["controllers"] |= {
        "yard": {"url": urls["yard"], "dialect": "sails", "pixels": 60, "identity": "yard-7"},
        "pier": {"url": urls["pier"], "dialect": "lamps", "pixels": 48, "identity": "pier-2"},
    }

    def tells() -> dict[str, object]:  # each its own: what is shared becomes an alias
        return {"printers": ["kestrel"], "table": "wall"}

    document["segments"] |= {
        "jib": {"on": "yard", "number": "A", "first": 0, "length": 20, **tells()},
        "mainsail": {"on": "yard", "number": "B", "first": 20, "length": 40, "resting": "warm"},
        "fore-lamp": {"on": "pier", "number": "fore", "first": 0, "length": 20, **tells()},
        "aft-lamp": {"on": "pier", "number": "aft", "first": 20, "length": 20, "resting": "warm"},
    }
    YAML().dump(document, path)


@asynccontextmanager
async def workroom(
    folder: Path, broker: Mosquitto, *, with_guests: bool = False
) -> AsyncIterator[Room]:
    """The room, with the site written; the broker may be up or not."""
    # They have been up for a minute: uptime is told in whole seconds, and a loss of it must show.
    since_ms = running_ms() - 60_000
    boards = controllers(now_ms=since_ms) | (guests(now_ms=since_ms) if with_guests else {})
    room = Room(folder, folder / "site", broker, {name: Place(b) for name, b in boards.items()})

    async def page(request: web.Request) -> web.StreamResponse:
        await request.read()
        room.polls += 1
        if room.page is None and request.transport is not None:
            request.transport.abort()
        return web.Response(body=room.page, content_type="application/json")

    plover = Server(page)
    try:
        urls = {"plover": await plover.start()}
        for name, place in room.places.items():
            await place.start()
            urls[name] = place.url
        hurry(example_directory(), room.site, Addresses(broker.port, urls))
        _hurry_door(room.site)
        if with_guests:
            _invite(room.site, urls)
        yield room
    finally:
        await plover.stop()
        for place in room.places.values():
            await place.stop()
