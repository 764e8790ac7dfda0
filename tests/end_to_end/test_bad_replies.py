"""Whatever a controller answers instead: one clear line, and the others are shown on."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import dataclass

import pytest
import pytest_asyncio
from aiohttp import web

from tests.end_to_end.workroom import (
    DOOR_TIMEOUT_MS,
    FEED_ME,
    LOOK_IN,
    RESTING_PAGE,
    Bridge,
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


@dataclass(frozen=True)
class Bad:
    """What comes instead of an answer, and what the line about it says."""

    odd: Misbehaviour
    says: tuple[str, ...]


BAD = {
    "500": Bad(_five_hundred, ("refuses", "500")),
    "cut short": Bad(_cut_short, ("does not answer",)),
    "not JSON": Bad(_not_json, ("JSON",)),
    "enormous": Bad(_enormous, ("does not answer", "with more than 65536 bytes")),
    "hangs": Bad(_hangs, ("does not answer", f"no answer within {DOOR_TIMEOUT_MS} ms")),
}


async def _told_once_and_shown_later(room: Room, bridge: Bridge, bad: Bad, *, empty: bool) -> None:
    """``empty``: the printers run out of material now, else they have some again."""
    before = len(bridge.log)
    tried, rack = len(room.door.requests), len(room.places["rack"].shows())
    snag, look = ("bare", FEED_ME) if empty else ("clear", LOOK_IN)
    room.door.odd = bad.odd
    await room.kestrel("waiting", snag_spool=snag)
    if not empty:
        await room.press()
    await until(lambda: _warnings(bridge, before, *bad.says), f"{bad.says}", bridge)
    # Meanwhile another controller is shown what is new.
    polls = room.polls
    room.page = json.dumps({**RESTING_PAGE, "trips": 1 << 3 if empty else 0}).encode()
    # Also where the button turned it already: the page must have been asked for.
    await until(lambda: room.polls > polls, "plover's page", bridge, 3)
    await until(lambda: len(room.places["rack"].shows()) > rack, "the shelf turns", bridge, 3)
    await until(lambda: len(room.door.requests) >= tried + 2, "a second try", bridge)
    # In this copy words count for four seconds only.
    await room.kestrel("waiting", snag_spool=snag)
    room.door.odd = None
    await until(lambda: room.bar() == look, f"{look} after all", bridge)
    # What is shown on two segments and what is read may each fail in their own way, and once.
    warnings = _warnings(bridge, before)
    assert 1 <= len(warnings) == len(set(warnings)) <= 3, warnings


def _warnings(bridge: Bridge, before: int, *words: str) -> list[str]:
    """The warnings about the door with these words, without their time, since then."""
    said = [line.partition(" ")[2] for line in bridge.log[before:].splitlines()]
    wanted = ("warning", "controller=door", *words)
    return [line for line in said if all(word in line for word in wanted)]


@pytest.mark.asyncio
async def test_a_bad_reply_is_one_line_and_is_tried_again(room: Room) -> None:
    """However often it happens; afterwards the segment shows what it should."""
    with running(room) as bridge:
        await bridge.is_up(room)
        for number, bad in enumerate(BAD.values()):
            await _told_once_and_shown_later(room, bridge, bad, empty=number % 2 == 0)
        assert await bridge.end() == 0


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

    with running(room) as bridge:
        await bridge.is_up(room)
        bad = Bad(redirects, ("redirects elsewhere", "307"))
        await _told_once_and_shown_later(room, bridge, bad, empty=True)
        assert await bridge.end() == 0
    assert not asked
