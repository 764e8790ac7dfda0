"""However the daemon ends, no light is left that says all is well."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from bridge.service.daemon import LEAVES_WITHIN_S
from bridge.simulator.lamps import Lamp, Lamps
from bridge.simulator.reference import SEGMENTS, differs
from bridge.simulator.stage import running_ms
from tests.conftest import Mosquitto
from tests.end_to_end.workroom import PROMPT_S, Bridge, Room, running, until, workroom

#: Requests a second, as config/dialects says.
LIMITS = {"door": 8, "rack": 6, "bench": 10}
#: Limits are counted at the sender; the first of a connection arrives so much later than others.
ARRIVES_WITHIN_MS = 50


def is_off_watch(room: Room, *controllers: str) -> bool:
    """Whether every segment there that tells of a printer shows it, by its raw pixels."""
    for segment in SEGMENTS:
        if controllers and segment.controller not in controllers:
            continue
        if segment.printer is None and not segment.glances:
            continue
        first, end = 3 * segment.first, 3 * (segment.first + segment.length)
        board = room.places[segment.controller].board

        def shows(at_ms: int, first: int = first, end: int = end, board: object = board) -> bytes:
            return board.pixels(at_ms)[first:end]  # type: ignore[attr-defined,no-any-return]

        if differs("not-known", shows, running_ms(), (0.0, 1.0)) is not None:
            return False
    return True


async def working(room: Room, bridge: Bridge) -> None:
    """Every printer is heard, and something shows that is not off watch."""
    await bridge.is_up(room)
    await until(lambda: not is_off_watch(room), "something comforting", bridge)


def most_in_a_second(instants_ms: list[int]) -> int:
    """Of these, both ends of the second included, as they left."""
    within_ms = 1000 - ARRIVES_WITHIN_MS
    return max(sum(at <= other <= at + within_ms for other in instants_ms) for at in instants_ms)


@pytest.mark.asyncio
async def test_a_daemon_that_is_told_to_stop_leaves_the_wall_off_watch(room: Room) -> None:
    """And the stop step finds nothing to do."""
    with running(room) as bridge:
        await working(room, bridge)
        assert await bridge.end() == 0
        assert is_off_watch(room)
        done = await stop_step(room)
        assert (done.returncode, "nothing is ready" in done.stdout) == (0, True)


@pytest.mark.asyncio
async def test_after_any_other_end_the_stop_step_does(room: Room) -> None:
    """Within the limits, counted where the requests arrive."""
    with running(room) as bridge:
        await working(room, bridge)
        bridge.kill()
        assert not is_off_watch(room)
        done = await stop_step(room)
        assert (done.returncode, done.stderr) == (0, "")
        assert is_off_watch(room)
    for name, limit in LIMITS.items():
        assert most_in_a_second(room.places[name].board.asked_ms) <= limit


@pytest.mark.asyncio
async def test_what_is_not_ours_is_sent_back_by_the_stop_step_too(
    tmp_path: Path, mosquitto: Mosquitto
) -> None:
    """To a controller that wants everything each time, as it was last read."""
    async with workroom(tmp_path, mosquitto, with_guests=True) as room:
        pier = room.places["pier"].board
        assert isinstance(pier, Lamps)
        pier.trim("mooring", Lamp("hsl(200, 60%, 40%)", "30 %"), running_ms())
        mooring = pier.pixels(running_ms())[3 * 40 :]
        with running(room) as bridge:
            await bridge.is_up(room)
            await room.kestrel("laying", laid="7 of 20 courses")
            await until(lambda: max(pier.pixels(running_ms())[: 3 * 20]) > 90, "a job", bridge)
            bridge.kill()
            done = await stop_step(room)
            assert (done.returncode, done.stderr) == (0, "")
        shown = pier.pixels(running_ms())
        # What it cannot paint it shows without its pattern: the neutral colour at a quarter.
        assert {shown[at : at + 3] for at in range(0, 3 * 20, 3)} == {bytes((0x36, 0x36, 0x34))}
        assert shown[3 * 40 :] == mooring


@pytest.mark.asyncio
async def test_what_was_away_at_the_end_is_left_to_the_stop_step(room: Room) -> None:
    """The daemon says so and ends in time; the step says so too, until it is back."""
    with running(room) as bridge:
        await working(room, bridge)
        await room.kestrel("laying", laid="7 of 20 courses")
        await until(lambda: not is_off_watch(room, "door"), "a job at the door", bridge)
        await room.door.stop()
        began = time.monotonic()
        assert await bridge.end() == 0
        assert time.monotonic() - began < LEAVES_WITHIN_S + PROMPT_S
        assert bridge.lines("lights are not off watch", "door")
        assert not is_off_watch(room)
        done = await stop_step(room)
        assert (done.returncode, done.stderr.count("\n")) == (1, 1)
        assert done.stderr.startswith("controller door is not off watch: connection refused")
        await room.door.start()
        assert (await stop_step(room)).returncode == 0
        assert is_off_watch(room)
    for name, limit in LIMITS.items():
        assert most_in_a_second(room.places[name].board.asked_ms) <= limit


@pytest.mark.asyncio
async def test_killed_in_the_middle_of_a_hurry_the_limits_hold(room: Room) -> None:
    """The last second's requests are the daemon's, and count."""
    with running(room) as bridge:
        await working(room, bridge)
        for number in range(20):
            await room.kestrel("waiting" if number % 2 else "laying")
            await asyncio.sleep(0.05)
        bridge.kill()
        done = await stop_step(room)
        assert (done.returncode, done.stderr) == (0, "")
        assert is_off_watch(room)
    for name, limit in LIMITS.items():
        assert most_in_a_second(room.places[name].board.asked_ms) <= limit


async def stop_step(room: Room) -> subprocess.CompletedProcess[str]:
    """What the unit's ExecStopPost starts."""
    return await asyncio.to_thread(
        subprocess.run,
        [sys.executable, "-m", "bridge.service.stop_step", str(room.site)],
        env={**os.environ, "RUNTIME_DIRECTORY": str(room.folder)},
        capture_output=True,
        text=True,
        timeout=30,
        check=False,
    )
