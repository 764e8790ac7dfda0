"""Simulated controllers and the polled printer on real sockets, faults included."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Final

from aiohttp import web

from bridge.simulator.controllers import SimulatedController
from bridge.simulator.printers import Ledger

Clock = Callable[[], int]
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]
#: A hanging controller gives up in the end, so that nothing is left behind.
_HANGS_FOR_S: Final = 60.0


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

    async def handler(request: web.Request) -> web.StreamResponse:
        body = await request.read()
        faults = controller.faults
        if faults.off or faults.drops:
            return _hung_up(request)
        if faults.delay_ms:
            await asyncio.sleep(faults.delay_ms / 1000)
        status, answer = controller.handle(
            request.method, request.path, request.query, request.headers, body, clock()
        )
        if faults.hangs:
            await asyncio.sleep(_HANGS_FOR_S)
        return web.Response(status=status, body=answer, content_type="application/json")

    return Server(handler)


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
