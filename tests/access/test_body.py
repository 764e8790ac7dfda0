"""Bodies are read no further than they may be long."""

from __future__ import annotations

import aiohttp
import pytest
from aiohttp import web

from bridge.access.body import read_capped
from tests.serving import serving

pytestmark = pytest.mark.asyncio


@pytest.mark.parametrize("says_length", [True, False])
@pytest.mark.parametrize(
    ("size", "most", "whole"),
    [(0, 0, True), (0, 10, True), (10, 10, True), (11, 10, False), (300_000, 299_999, False)],
)
async def test_the_cap_is_inclusive(
    size: int, most: int, *, whole: bool, says_length: bool
) -> None:
    """The whole body, or ``None`` where it is longer, whether its length is said or not."""

    async def board(request: web.Request) -> web.StreamResponse:
        if says_length:
            return web.Response(body=b"x" * size)
        response = web.StreamResponse()
        await response.prepare(request)
        await response.write(b"x" * size)
        return response

    async with (
        serving(board) as url,
        aiohttp.ClientSession() as client,
        client.get(url) as response,
    ):
        body = await read_capped(response, most)
    assert body == (b"x" * size if whole else None)
