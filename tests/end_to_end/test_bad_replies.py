"""Whatever a controller answers instead: one clear line, and the others are shown on."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator

import pytest
import pytest_asyncio
from aiohttp import web

from tests.end_to_end.workroom import (
    FEED_ME,
    RESTING_PAGE,
    Misbehaviour,
    Room,
    running,
    until,
)
from tests.serving import serving


async def _five_hundred(_request: web.Request) -> web.StreamResponse:
    return web.Response(status=500, text="out of sorts")


async def _hangs(_request: web.Request) -> web.StreamResponse:
    await asyncio.sleep(30)
    return web.Response()


async def _cut_short(request: web.Request) -> web.StreamResponse:
    reply = web.StreamResponse(headers={"Content-Length": "1000"})
    await reply.prepare(request)
    await reply.write(b'{"done": tr')
    if request.transport is not None:
        request.transport.abort()
    return reply


async def _not_json(_request: web.Request) -> web.StreamResponse:
    return web.Response(text="<html>welcome</html>", content_type="text/html")


async def _enormous(request: web.Request) -> web.StreamResponse:
    reply = web.StreamResponse()
    await reply.prepare(request)
    for _ in range(1000):
        await reply.write(b" " * 65536)
    return reply


CASES: dict[str, tuple[Misbehaviour, tuple[str, ...]]] = {
    "500": (_five_hundred, ("500",)),
    "hangs": (_hangs, ("does not answer", "no answer within 3000 ms")),
    "cut short": (_cut_short, ("does not answer",)),
    "not JSON": (_not_json, ("JSON",)),
    "enormous": (_enormous, ("does not answer", "with more than 65536 bytes")),
}


async def _told_once_and_shown_later(room: Room, odd: Misbehaviour, says: tuple[str, ...]) -> None:
    with running(room) as bridge:
        await bridge.is_up(room)
        room.door.odd = odd
        tried = len(room.door.requests)
        await room.kestrel("laying", snag_spool="out")
        await bridge.says("controller=door", *says)
        # Meanwhile another controller is shown what is new.
        rack = len(room.places["rack"].shows())
        room.page = json.dumps({**RESTING_PAGE, "trips": 1 << 3}).encode()
        await until(lambda: len(room.places["rack"].shows()) > rack, "the shelf turns", bridge, 3)
        await until(lambda: len(room.door.requests) >= tried + 2, "a second try", bridge)
        # In this copy words count for four seconds only.
        await room.kestrel("laying", snag_spool="out")
        room.door.odd = None
        await until(lambda: room.bar() == FEED_ME, "feed-me after all", bridge)
        # What is shown and what is read may each fail in their own way, and once.
        troubled = [line.partition(" ")[2] for line in bridge.lines("controller=door", "warning")]
        assert 1 <= len(troubled) == len(set(troubled)) <= 2, troubled
        assert await bridge.end() == 0


@pytest.mark.parametrize(("odd", "says"), CASES.values(), ids=CASES.keys())
@pytest.mark.asyncio
async def test_a_bad_reply_is_one_line_and_is_tried_again(
    room: Room, odd: Misbehaviour, says: tuple[str, ...]
) -> None:
    """However often it happens; afterwards the segment shows what it should."""
    await _told_once_and_shown_later(room, odd, says)


@pytest_asyncio.fixture
async def elsewhere() -> AsyncIterator[tuple[str, list[str]]]:
    """Another server, and what it was asked."""
    asked: list[str] = []

    async def handler(request: web.Request) -> web.StreamResponse:
        asked.append(request.path)
        return web.json_response({"done": True})

    async with serving(handler) as url:
        yield url, asked


@pytest.mark.asyncio
async def test_a_redirect_elsewhere_is_not_followed(
    room: Room, elsewhere: tuple[str, list[str]]
) -> None:
    """The site's file says where a controller is, and nobody else does."""
    url, asked = elsewhere

    async def redirects(request: web.Request) -> web.StreamResponse:
        return web.Response(status=307, headers={"Location": f"{url}{request.path}"})

    await _told_once_and_shown_later(room, redirects, ("redirects elsewhere", "307"))
    assert not asked
