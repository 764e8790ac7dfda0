"""How the daemon ends."""

from __future__ import annotations

import asyncio
import json
import signal

import pytest
from aiohttp import web

from tests.cli.commands import hold_to_shape
from tests.end_to_end.workroom import FEED_ME, Room, running, until


@pytest.mark.asyncio
async def test_sigterm_ends_it_with_code_0_and_a_summary(room: Room) -> None:
    """At once, even while a controller keeps it waiting."""

    async def hangs(_request: web.Request) -> web.StreamResponse:
        await asyncio.sleep(30)
        return web.Response()

    with running(room) as bridge:
        await bridge.is_up(room)
        await room.kestrel("laying", snag_spool="out")
        await until(lambda: room.bar() == FEED_ME, "feed-me", bridge)
        room.places["bench"].odd = hangs
        await room.kestrel("laying", snag_spool="clear")
        asked = len(room.places["bench"].requests)
        await room.press()
        await bridge.says("segment=door-frame", "scene=filling")
        await until(lambda: len(room.places["bench"].requests) > asked, "a request", bridge)
        bridge.process.send_signal(signal.SIGTERM)
        began = asyncio.get_running_loop().time()
        assert await bridge.ended() == 0
        assert asyncio.get_running_loop().time() - began < 2
        assert bridge.log.splitlines()[-1].rstrip().endswith(f"stopped site={room.site}")
        summary = bridge.summary()
    hold_to_shape(json.dumps(summary), "summary")
    # kestrel's four messages, and what plover answered.
    assert summary["messages"] >= 4 + 1
    assert summary["decisions"] >= 4
    assert summary["requests"] >= len(room.door.requests)
    assert {name: each["scene"] for name, each in summary["segments"].items()} == {
        "door-frame": "filling",
        "door-sill": "not-known",
        "shelf": "ready",
        "shelf-lamp": "dark",
        "bench-left": "not-known",
        "bench-right": "filling",
    }
