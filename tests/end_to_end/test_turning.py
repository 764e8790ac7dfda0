"""A message turns a light: real broker, real HTTP, the real daemon."""

from __future__ import annotations

import json

import pytest

from tests.end_to_end.workroom import (
    FEED_ME,
    FETCH_ME,
    LOOK_IN,
    PROMPT_S,
    RESTING_PAGE,
    TROUBLE,
    Room,
    Told,
    listening,
    running,
    until,
)


@pytest.mark.asyncio
async def test_a_publish_turns_its_segment_within_a_second(room: Room) -> None:
    """Each of kestrel's words, one after the other, as the legend has it."""
    told: list[tuple[dict[str, str], str, Told]] = [
        ({"snag_spool": "out"}, "laying", FEED_ME),
        ({"snag_spool": "clear", "snag_feed": "stuck"}, "waiting", (*TROUBLE[:2], "plain")),
        ({"snag_feed": "clear"}, "waiting", LOOK_IN),
        ({"outcome": "sound"}, "ashore", FETCH_ME),
    ]
    with running(room) as bridge:
        await bridge.is_up(room)
        for more, doing, expected in told:
            await room.kestrel(doing, **more)
            if "clear" in more.values():
                await room.press()
            took = await until(lambda e=expected: room.bar() == e, f"{doing} {more}", bridge)  # type: ignore[misc]
            assert took < PROMPT_S, (doing, more)
        for layer, pixels in ((1, 12), (5, 60), (10, 120)):
            await room.kestrel("laying", laid=f"{layer} of 10 courses")
            took = await until(lambda n=pixels: room.filled == n, f"{pixels} filled", bridge)  # type: ignore[misc]
            assert took < PROMPT_S, layer


@pytest.mark.asyncio
async def test_a_polled_page_turns_its_segment(room: Room) -> None:
    """Within its interval of polling, one second in this copy, and a second."""
    halted = {**RESTING_PAGE, "duty": {"code": 12, "halted": True, "closed": None}, "trips": 1 << 3}
    rack = room.places["rack"]
    with running(room) as bridge:
        await bridge.is_up(room)
        await bridge.says("segment=shelf", "rule=idle")
        room.page = json.dumps(halted).encode()
        before = len(rack.requests)

        def wishes() -> list[dict[str, int]]:
            told = [
                json.loads(s.body)
                for s in rack.requests[before:]
                if s.method == "POST" and s.target == "/shelves"
            ]
            return [wish["shelf-1"] for wish in told if wish.get("shelf-1", {}).get("way") == 6]

        took = await until(wishes, "the shelf turns", bridge)
        assert took < 1 + PROMPT_S
        # feed-me: blue at 224.8°, 83.5 % deep, 80 % of full, the faster effect (by hand from the
        # colour #2a60ff: max 255, min 42; 60 * (4 + (42 - 96) / 213) degrees).
        wish = wishes()[-1]
        assert abs(wish["turn"] - 2248) <= 1
        assert abs(wish["depth"] - 835) <= 1
        assert wish["shine"] == 800


@pytest.mark.asyncio
async def test_a_printer_that_speaks_when_asked_is_asked(room: Room) -> None:
    """At the connection; then the whole page and each change of it turn the segment."""
    with listening(room, "alder/heron/tell") as heard, running(room) as bridge:
        await until(heard, "the question", bridge)
        assert json.loads(heard()[0]) == {"pages": "all"}
        await bridge.is_up(room)
        await room.publish("alder/heron/tether", b"fast")
        whole = {"entry": 1, "hand": "aside", "piece": {"called": "dinghy", "closed": "broken"}}
        await room.publish("alder/heron/log", json.dumps(whole).encode())
        await bridge.says("segment=bench-left", "scene=clear-me")
        await room.publish("alder/heron/log", b'{"hand": "stuck"}')
        await bridge.says("segment=bench-left", "scene=look-in")
        await room.publish("alder/heron/tether", b"slipped")
        await bridge.says("segment=bench-left", "printer=heron", "rule=silent", "stale is true")
        beads = room.places["bench"]
        await until(lambda: beads.shows()[-1] == "POST /beads/string", "not-known painted", bridge)
