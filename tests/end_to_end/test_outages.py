"""What the lights do when something in between is gone, and when it comes back."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.simulator.stage import running_ms
from tests.conftest import Mosquitto
from tests.end_to_end.workroom import FEED_ME, PROMPT_S, Room, Told, running, until, workroom

#: What a bar shows when it has just got its power.
FRESH_FROM_POWER: Told = ("120a02", 4095, "plain")


@pytest.mark.asyncio
async def test_a_controller_that_restarts_is_shown_again(room: Room) -> None:
    """With nobody touching anything: its uptime gives it away at the next read-back."""
    with running(room) as bridge:
        await bridge.is_up(room)
        await room.kestrel("laying", snag_spool="out")
        await until(lambda: room.bar() == FEED_ME, "feed-me", bridge)
        room.door.requests.clear()
        await until(
            lambda: any(seen.target == "/bars" for seen in room.door.requests),
            "a read-back, which tells its uptime",
            bridge,
        )
        sill = room.bar(2)
        room.door.board.reboot(running_ms())
        assert room.bar() == room.bar(2) == FRESH_FROM_POWER
        await until(lambda: room.bar() == FEED_ME, "feed-me again", bridge)
        await until(lambda: room.bar(2) == sill, "the sill again", bridge)
        await bridge.says("controller restarted", "controller=door")
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_a_controller_that_was_away_is_shown_what_counts_now(room: Room) -> None:
    """One line when it goes, one when it is back; nothing of what it missed is sent."""
    with running(room) as bridge:
        await bridge.is_up(room)
        await room.door.stop()
        await room.kestrel("laying", laid="5 of 10 courses")
        await bridge.says("controller does not answer", "controller=door")
        await room.kestrel("laying", snag_spool="out")
        await bridge.says("segment=door-frame", "scene=feed-me")
        room.door.requests.clear()
        await room.door.start()
        await until(lambda: room.bar() == FEED_ME, "feed-me after all", bridge)
        await bridge.says("controller answers again", "controller=door")
        assert "PUT /bars/1/cells" not in room.door.shows()
        assert len(bridge.lines("controller does not answer", "controller=door")) == 1
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_a_broker_that_dies_makes_the_lights_say_so_until_it_is_back(room: Room) -> None:
    """Not known within the budget; polled printers go on; after its return the next word counts."""
    with running(room) as bridge:
        await bridge.is_up(room)
        await room.kestrel("laying", laid="5 of 10 courses")
        await until(lambda: room.filled == 60, "half filled", bridge)
        room.broker.stop()
        took = await until(lambda: room.not_known, "not-known", bridge)
        assert took < PROMPT_S
        polls = room.polls
        await until(lambda: room.polls > polls + 1, "plover is polled on", bridge)
        room.broker.start()
        await until(lambda: len(bridge.lines("source is up")) == 2, "the broker again", bridge)
        assert room.not_known
        await room.kestrel("laying", laid="6 of 10 courses")
        took = await until(lambda: room.filled == 72, "filled on", bridge)
        assert took < PROMPT_S
        assert len(bridge.lines("source is lost")) == 1
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_a_broker_that_is_absent_at_the_start_is_waited_for(
    tmp_path: Path, mosquitto: Mosquitto
) -> None:
    """One line says what is wrong; the lights say that nothing is known, and plover's work."""
    mosquitto.stop()
    async with workroom(tmp_path, mosquitto) as room:
        with running(room) as bridge:
            await bridge.says("broker not reached", "refused")
            await until(lambda: room.not_known, "not-known", bridge)
            await bridge.says("segment=shelf", "rule=idle")
            mosquitto.start()
            await bridge.says("source is up")
            await room.kestrel("laying", laid="5 of 10 courses")
            await until(lambda: room.filled == 60, "half filled", bridge)
            assert len(bridge.lines("broker not reached")) == 1
            assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_a_printer_that_falls_silent_is_no_longer_believed(room: Room) -> None:
    """Its words count for fresh_for, four seconds in this copy, and not longer than that.

    A polled one that does not answer likewise: one line in the log however often it is asked in
    vain, and one when it answers again.
    """

    def shelf(rule: str) -> int:
        return len(bridge.lines("segment=shelf", rule))

    with running(room) as bridge:
        await bridge.is_up(room)
        await bridge.says("segment=shelf", "rule=idle")
        page, room.page = room.page, None
        await room.kestrel("laying", laid="5 of 10 courses")
        await until(lambda: room.filled == 60, "half filled", bridge)
        took = await until(lambda: room.not_known, "not-known", bridge)
        assert 2 < took < 4 + PROMPT_S
        # Its first line of the kind is from the start.
        await until(lambda: shelf("rule=silent") == 2, "the shelf not known", bridge)
        assert len(bridge.lines("printer gives no usable answer")) == 1
        room.page = page
        await bridge.says("printer answers again")
        await until(lambda: shelf("rule=idle") == 2, "the shelf known again", bridge)
