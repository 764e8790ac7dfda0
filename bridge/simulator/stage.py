"""The club's printers and controllers on real sockets, with one clock for all of them."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterable, Mapping
from types import TracebackType
from typing import Final, Self

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

from bridge.simulator.controllers import SimulatedController
from bridge.simulator.evening import (
    BUTTONS,
    LOST_WRITES,
    PRESSED,
    REFUSED_REQUESTS,
    Mishap,
    Printers,
)
from bridge.simulator.publisher import Publisher
from bridge.simulator.reference import Press
from bridge.simulator.servers import Server, controller_server, printer_server

_LOOPBACK: Final = "127.0.0.1"
_SAID_WITHIN_S: Final = 5.0


class StageClock:
    """Milliseconds since the curtain: 0 until it rises."""

    def __init__(self) -> None:
        self._rose_s: float | None = None

    def __call__(self) -> int:
        """The time now."""
        return 0 if self._rose_s is None else int((time.monotonic() - self._rose_s) * 1000)

    def rise(self) -> None:
        """Begin."""
        self._rose_s = time.monotonic()


def running_ms() -> int:
    """The controllers' own clock, which waits for no curtain."""
    return time.monotonic_ns() // 1_000_000


def _say(port: int, topic: str, text: str) -> None:
    """One message, as a button sends it: it comes up, speaks and is gone."""
    client = Client(CallbackAPIVersion.VERSION2)
    client.connect(_LOOPBACK, port)
    client.loop_start()
    try:
        client.publish(topic, text, qos=1).wait_for_publish(_SAID_WITHIN_S)
        client.disconnect()
    finally:
        client.loop_stop()


class Stage:
    """An asynchronous context: everything is up inside it, and gone after it."""

    def __init__(
        self,
        printers: Printers,
        controllers: Mapping[str, SimulatedController],
        broker_port: int,
        clock: StageClock,
    ) -> None:
        self._printers = printers
        self._controllers = controllers
        self._broker_port = broker_port
        self._clock = clock
        self._servers: dict[str, Server] = {}
        self._tasks: list[asyncio.Task[None]] = []
        #: Where each controller, and the polled printer, can be reached.
        self.urls: dict[str, str] = {}

    async def __aenter__(self) -> Self:
        """Put everything up."""
        try:
            self._servers = {
                name: controller_server(controller, running_ms)
                for name, controller in self._controllers.items()
            }
            plover = self._printers.plover
            self._servers[plover.name] = printer_server(plover, self._clock)
            for name, server in self._servers.items():
                self.urls[name] = await server.start()
        except OSError:
            await self._strike()
            raise
        for talker in (self._printers.kestrel, self._printers.heron):
            publisher = Publisher(talker, _LOOPBACK, self._broker_port, self._clock)
            self._tasks.append(asyncio.create_task(publisher.live(), name=talker.name))
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Take everything down, whatever happened."""
        await self._strike()

    async def _strike(self) -> None:
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        for server in self._servers.values():
            await server.stop()

    async def befall(self, mishaps: Iterable[Mishap]) -> None:
        """Let the mishaps happen, each at its time."""
        async with asyncio.TaskGroup() as tasks:
            for mishap in mishaps:
                tasks.create_task(self._befall(mishap))

    async def press(self, presses: Iterable[Press]) -> None:
        """Let the buttons be pressed, each at its time."""
        for press in sorted(presses, key=lambda each: each.at_ms):
            await asyncio.sleep(max(0, press.at_ms - self._clock()) / 1000)
            topic = BUTTONS[press.button]
            await asyncio.to_thread(_say, self._broker_port, topic, PRESSED)

    async def _befall(self, mishap: Mishap) -> None:
        await asyncio.sleep(max(0, mishap.at_ms - self._clock()) / 1000)
        controller = self._controllers[mishap.controller]
        if mishap.what == "reboots":
            controller.reboot(running_ms())
        elif mishap.what == "loses writes":
            controller.faults.loses = LOST_WRITES
        else:
            controller.faults.refuses = REFUSED_REQUESTS
