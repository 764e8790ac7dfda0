"""A word that nobody mapped: not known on the wall, listed, taught, and then understood."""

from __future__ import annotations

import asyncio
import os
import shlex
import sys

import pytest

from tests.end_to_end.workroom import Room, running, until


async def _lampwright(room: Room, *words: str) -> str:
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "bridge", *words),
        # Where the bridge of this room listens.
        env={**os.environ, "RUNTIME_DIRECTORY": str(room.folder)},
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    output, complaint = await process.communicate()
    assert (process.returncode, complaint) == (0, b"")
    return output.decode()


@pytest.mark.asyncio
async def test_a_word_is_met_listed_taught_and_understood(room: Room) -> None:
    """Asked of the bridge, or of its recording; by the very command that the listing prints."""
    tonight = room.folder / "tonight"
    with running(room, "--record", str(tonight)) as bridge:
        await bridge.is_up(room)
        await room.publish("alder/kestrel/aboard", b"aye", "-r")
        await room.kestrel("ashore", outcome="nothing", snag_spool="clear")
        await until(lambda: not room.not_known, "kestrel known", bridge)
        await room.kestrel("adrift", outcome="nothing", snag_spool="clear")
        await bridge.says("word without a mapping", "adrift")
        await until(lambda: room.not_known, "kestrel not known", bridge)
        listed = await _lampwright(room, "words", str(room.site))
        assert await bridge.end() == 0
    recorded = await _lampwright(room, "words", str(room.site), "--recording", str(tonight))
    assert recorded == listed
    lines = [line.strip() for line in listed.splitlines()]
    assert lines[0] == "kestrel (reader pieces): state adrift"
    assert "in      doing (alder/kestrel/doing)" in lines
    (lesson,) = (line for line in lines if line.startswith("teach"))
    words = shlex.split(lesson.replace("MEANING", "stopped"))
    said = await _lampwright(room, *words[2:])
    assert "state knows now adrift: stopped" in said
    with running(room, name="again") as bridge:
        await bridge.is_up(room)
        await room.kestrel("adrift", outcome="nothing", snag_spool="clear")
        await bridge.says("decided", "segment=door-frame", "state is stopped")
        await until(lambda: not room.not_known, "kestrel known", bridge)
        assert not bridge.lines("word without a mapping")
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_a_word_waits_across_a_start(room: Room) -> None:
    """What was met in the night is listed in the morning, and not told a second time."""
    with running(room) as bridge:
        await bridge.is_up(room)
        await room.kestrel("adrift", outcome="nothing", snag_spool="clear")
        await bridge.says("word without a mapping", "adrift")
        assert await bridge.end() == 0
    with running(room, name="again") as bridge:
        await bridge.says("source is up")
        listed = await _lampwright(room, "words", str(room.site))
        assert listed.startswith("kestrel (reader pieces): state adrift\n")
        assert not bridge.lines("word without a mapping")
        assert await bridge.end() == 0
