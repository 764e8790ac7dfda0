"""Two processes on one site, and a look beside a running daemon."""

from __future__ import annotations

import asyncio
import json
import shutil

import pytest

from tests.end_to_end.workroom import FEED_ME, PATIENCE_S, Bridge, Room, running, until


async def _decides_the_same(room: Room, look: Bridge) -> None:
    """A look does not tell when it is subscribed, so kestrel says it again until it is heard."""
    async with asyncio.timeout(PATIENCE_S):
        while '"feed-me"' not in look.output:
            await room.kestrel("laying", snag_spool="out")


@pytest.mark.asyncio
async def test_a_second_daemon_is_refused_in_one_line(room: Room) -> None:
    """It names the first one's process; the first goes on."""
    with running(room) as first:
        await first.is_up(room)
        with running(room, name="second") as second:
            assert await second.ended() == 2
            refusal = (
                f"{room.site}: this site is already run by process {first.process.pid}; "
                "stop that one first, or look with: lampwright run --dry-run"
            )
            assert second.log.splitlines() == [refusal]
        await room.kestrel("laying", snag_spool="out")
        await until(lambda: room.bar() == FEED_ME, "feed-me", first)
        assert await first.end() == 0


@pytest.mark.asyncio
async def test_a_dry_run_beside_the_daemon_only_listens(room: Room) -> None:
    """It hears what the daemon hears, sends nothing, polls nobody, and takes nobody's place."""
    with running(room) as daemon:
        await daemon.is_up(room)
        with running(room, "--dry-run", "--json", name="look") as look:
            await until(lambda: '"door-frame"' in look.output, "the look's first lines", look)
            await _decides_the_same(room, look)
            lines = [json.loads(line) for line in look.output.splitlines()]
            assert "a daemon runs this site" in lines[0]["note"]
            # What is polled is not heard by the look: it says so rather than guess.
            shelf = [line for line in lines if line.get("segment") == "shelf"]
            assert [line["scene"] for line in shelf] == ["not-known"]
            assert await look.end() == 0
        await until(lambda: room.bar() == FEED_ME, "feed-me", daemon)
        assert not daemon.lines("broker lost")
        assert not daemon.lines("client id in use")
        assert len(daemon.lines("source is up")) == 1
        assert await daemon.end() == 0


@pytest.mark.asyncio
async def test_a_dry_run_alone_polls_and_sends_nothing(room: Room) -> None:
    """Not even a question goes to a controller."""
    with running(room, "--dry-run", "--json") as look:
        await until(lambda: '"ready"' in look.output, "plover is polled", look)
        await _decides_the_same(room, look)
        assert await look.end() == 0
    assert not any(place.requests for place in room.places.values())


@pytest.mark.asyncio
async def test_two_processes_with_one_client_id_are_told_apart_in_words(room: Room) -> None:
    """The broker lets only one of them in; each says what is the matter and what to do."""
    other = room.folder / "other"
    shutil.copytree(room.site, other)
    with running(room) as first:
        await first.says("source is up")
        room.site = other
        with running(room, name="second") as second:
            await first.says("client id in use", "another process has", "lampwright")
            assert "client id of its own" in first.lines("client id in use")[0]
            assert await second.end() == 0
        # Alone again, it is let in and stays.
        await until(lambda: first.log.rfind("source is up") > first.log.rfind("lost"), "in", first)
        assert await first.end() == 0
