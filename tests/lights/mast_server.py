"""The simulated mast at a real address."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from aiohttp import web

from bridge.lights.dialect.dialect import Prepared
from tests.lights.mast import Mast
from tests.serving import serving


@asynccontextmanager
async def mast_server(mast: Mast) -> AsyncIterator[str]:
    """Its URL, while it is up."""

    async def answer(request: web.Request) -> web.StreamResponse:
        body = await request.read()
        asked = Prepared(request.method, request.path, (), body or None)
        status, said = mast.perform(asked)
        return web.Response(status=status, body=said, content_type="application/json")

    async with serving(answer) as url:
        yield url
