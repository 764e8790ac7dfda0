"""However the daemon ends, no light is left that says all is well."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys

import pytest

from bridge.simulator.reference import SEGMENTS, differs
from bridge.simulator.stage import running_ms
from tests.end_to_end.workroom import Bridge, Room, running, until

#: Requests a second, as config/dialects says.
LIMITS = {"door": 8, "rack": 6, "bench": 10}


def is_off_watch(room: Room) -> bool:
    """Whether every segment that tells of a printer shows it, by its raw pixels."""
    for segment in SEGMENTS:
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
    """Of these, both ends of the second included."""
    return max(sum(at <= other <= at + 1000 for other in instants_ms) for at in instants_ms)


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
