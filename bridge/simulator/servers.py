"""Simulated controllers and the polled printer on real sockets, faults included."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable
from random import Random
from typing import Final, Literal

from aiohttp import web

from bridge.simulator.controllers import SimulatedController
from bridge.simulator.faults import Faults
from bridge.simulator.printers import Ledger

Clock = Callable[[], int]
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]
#: A hanging controller gives up in the end, so that nothing is left behind.
_HANGS_FOR_S: Final = 60.0
_HANGS_UP_AFTER_S: Final = 0.02


class Server:
    """One HTTP server on the loopback; ``url`` tells where once it is up."""

    def __init__(self, handler: Handler) -> None:
        self._handler = handler
        self._runner: web.AppRunner | None = None
        self.url = ""

    async def start(self, port: int = 0, host: str = "127.0.0.1") -> str:
        """Listen on ``port``, or on any free one; the URL without a slash at the end."""
        application = web.Application(client_max_size=64 * 1024)
        application.router.add_route("*", "/{anything:.*}", self._handler)
        self._runner = web.AppRunner(application, access_log=None, shutdown_timeout=0.2)
        await self._runner.setup()
        await web.TCPSite(self._runner, host, port).start()
        bound = self._runner.addresses[0][1]
        self.url = f"http://{host}:{bound}"
        return self.url

    async def stop(self) -> None:
        """Stop listening and hang up."""
        if self._runner is not None:
            await self._runner.cleanup()
            self._runner = None


def controller_server(controller: SimulatedController, clock: Clock) -> Server:
    """A controller at a URL of its own."""
    return Server(controller_handler(controller, clock))


def controller_handler(controller: SimulatedController, clock: Clock) -> Handler:
    """How a controller takes a request off its socket, as hard to please as its faults say."""
    gate, chance = _Gate(controller.faults), Random(controller.name)

    async def handler(request: web.Request) -> web.StreamResponse:
        body = await request.read()
        faults = controller.faults
        admitted = gate.admits(request.transport, clock())
        if faults.off or faults.drops or admitted == "hung up on":
            return _hung_up(request)
        if admitted == "busy":
            return web.Response(status=429, headers={"Retry-After": "1"})
        least, most = faults.delay_ms
        if most:
            await asyncio.sleep(chance.uniform(least, most) / 1000)
        status, answer = controller.handle(
            request.method, request.path, request.query, request.headers, body, clock()
        )
        if faults.hangs:
            await asyncio.sleep(_HANGS_FOR_S)
        response = web.Response(status=status, body=answer, content_type="application/json")
        if faults.hangs_up_after == "as announced":
            response.force_close()
        elif faults.hangs_up_after == "unannounced" and request.transport is not None:
            # The answer goes out first; the next request comes to a line that is dead.
            asyncio.get_running_loop().call_later(_HANGS_UP_AFTER_S, request.transport.close)
        return response

    return handler


class _Gate:
    """Whom a controller lets in: so many a second, and one connection at a time."""

    def __init__(self, faults: Faults) -> None:
        self._faults = faults
        self._came_ms: deque[int] = deque()
        self._connected: asyncio.BaseTransport | None = None

    def admits(
        self, transport: asyncio.BaseTransport | None, now_ms: int
    ) -> Literal["let in", "busy", "hung up on"]:
        """What becomes of a request that came on this connection."""
        faults, held = self._faults, self._connected
        is_taken = held is not None and held is not transport and not held.is_closing()
        if faults.one_connection and is_taken:
            return "hung up on"
        self._connected = transport
        while self._came_ms and self._came_ms[0] <= now_ms - 1000:
            self._came_ms.popleft()
        self._came_ms.append(now_ms)
        if faults.bears is None or len(self._came_ms) <= faults.bears:
            return "let in"
        return "busy" if faults.too_many == "busy" else "hung up on"


def printer_server(printer: Ledger, clock: Clock) -> Server:
    """A polled printer at a URL of its own; without power it hangs up on everybody."""

    async def handler(request: web.Request) -> web.StreamResponse:
        body = await request.read()
        reply = printer.answer(request.method, request.path, body, clock())
        if reply is None:
            return _hung_up(request)
        status, answer = reply
        return web.Response(status=status, body=answer, content_type="application/json")

    return Server(handler)


def _hung_up(request: web.Request) -> web.StreamResponse:
    if request.transport is not None:
        request.transport.abort()
    return web.Response(status=503)
