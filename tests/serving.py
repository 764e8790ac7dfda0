"""Real HTTP peers on the loopback: well-behaved ones by aiohttp, others byte by byte."""

from __future__ import annotations

import asyncio
import ssl
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

from aiohttp import web


@asynccontextmanager
async def serving(
    handler: Callable[[web.Request], Awaitable[web.StreamResponse]],
    *,
    context: ssl.SSLContext | None = None,
) -> AsyncIterator[str]:
    """Every request to this address goes to ``handler``; gives the address."""
    application = web.Application()
    application.router.add_route("*", "/{everything:.*}", handler)
    runner = web.AppRunner(application, access_log=None, shutdown_timeout=0.1)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", 0, ssl_context=context)
    await site.start()
    host, port = runner.addresses[0][:2]
    try:
        yield f"{'https' if context else 'http'}://{host}:{port}"
    finally:
        await runner.cleanup()


class Peer:
    """A peer that says what it is told, byte by byte.

    ``script`` is called for each connection with reader and writer; ``heads`` collects the head
    of each request that was read with ``head``.
    """

    def __init__(self) -> None:
        self.connections = 0
        self.heads: list[str] = []

    async def head(self, reader: asyncio.StreamReader) -> str:
        """Read one request, its body included where it has a length, and give its head."""
        head = (await reader.readuntil(b"\r\n\r\n")).decode()
        for line in head.split("\r\n"):
            name, _, value = line.partition(":")
            if name.lower() == "content-length":
                await reader.readexactly(int(value))
        self.heads.append(head)
        return head


Script = Callable[[Peer, asyncio.StreamReader, asyncio.StreamWriter], Awaitable[None]]


@asynccontextmanager
async def speaking(script: Script) -> AsyncIterator[tuple[str, Peer]]:
    """A peer that follows ``script``; its connections are closed when that ends."""
    peer = Peer()

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        peer.connections += 1
        try:
            await script(peer, reader, writer)
            await writer.drain()
        except (asyncio.IncompleteReadError, ConnectionError):
            pass
        finally:
            writer.close()

    server = await asyncio.start_server(serve, "127.0.0.1", 0)
    host, port = server.sockets[0].getsockname()[:2]
    try:
        yield f"http://{host}:{port}", peer
    finally:
        server.close()
