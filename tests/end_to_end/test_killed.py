"""A bridge that is killed in every state of an alarm, and what the next one knows of it.

``kill -9`` leaves no time to say goodbye: what stands afterwards is what the journal held. What
people wish comes by the real commands through the local socket, as they would type it.
"""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from bridge.cli.asking import Daemon
from bridge.cli.hurried import OVER_AFTER_MS
from bridge.facts.memory import OUTCOME_WITHIN_MS
from bridge.simulator.bars import FULL_DRIVE
from tests.end_to_end.workroom import SEE_ME, TROUBLE, Bridge, Room, Told, running, until

#: What the frame tells of "broken" once it was acknowledged, and once it is over but not reset:
#: ISA-18.1, sequence R, whose slow flash is the bar's slow motion.
ACKNOWLEDGED: Told = (*TROUBLE[:2], "plain")
LATCHED: Told = (*TROUBLE[:2], "toll")
#: What it tells of "vanished", which nobody acknowledged.
VANISHED: Told = (*SEE_ME[:2], "beat")
#: The table's own answer to a printer that stands still, where no alarm is shown.
STOPPED: Told = ("ffb000", FULL_DRIVE, "plain")

ALARM = ("--alarm", "broken", "--printer", "kestrel")
NAMED = ("broken", "--printer", "kestrel")
SHELVE = ("shelve", *NAMED, "--for", "2h", "--reason", "the lid is at the welder's")
TAKE_OUT = ("out-of-service", *NAMED, "--reason", "the lid has no switch any more")


Command: TypeAlias = tuple[str, ...]
#: What kestrel's lid does, or what a person commands, and the alarm's state after that.
Step: TypeAlias = tuple[str | Command, str]

OPEN: Step = ("ajar", "unacknowledged")
ACKNOWLEDGE: Step = (("acknowledge", *ALARM), "acknowledged")


@dataclass(frozen=True)
class Case:
    """How a state of the alarm comes about, and what it looks like."""

    steps: tuple[Step, ...]
    #: On the lights once the printer is heard, and before that: ``None`` is "not known".
    heard: Told
    unheard: Told | None
    #: Longer than nobody listens: else it is a new alarm if it then still stands.
    off_delay: str = "0s"


STATES = {
    "unacknowledged": Case((OPEN,), TROUBLE, TROUBLE),
    "acknowledged": Case((OPEN, ACKNOWLEDGE), ACKNOWLEDGED, ACKNOWLEDGED, "5m"),
    "returned": Case((OPEN, ("clear", "returned")), TROUBLE, TROUBLE),
    "latched": Case((OPEN, ACKNOWLEDGE, ("clear", "latched")), LATCHED, LATCHED),
    "shelved": Case((OPEN, (SHELVE, "shelved")), STOPPED, None),
    "out-of-service": Case((OPEN, (TAKE_OUT, "out-of-service")), STOPPED, None),
}


@contextmanager
def bridge_of(room: Room, name: str) -> Iterator[Bridge]:
    """The daemon with a journal of its own, the same at each start."""
    with running(room, "--journal", str(_journal(room)), name=name) as bridge:
        yield bridge


def _journal(room: Room) -> Path:
    return room.folder / "kept.db"


async def lampwright(room: Room, command: str, *words: str) -> tuple[int, Any]:
    """A command on the running site; its exit code, and what it says with ``--json``."""
    site = ("--site", str(room.site)) if command in {"shelve", "out-of-service", "hold"} else ()
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "bridge", command, *words, "--json"),
        *(site or (str(room.site),)),
        env={**os.environ, "RUNTIME_DIRECTORY": str(room.folder)},
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    output, complaint = await process.communicate()
    assert complaint == b""
    return process.returncode or 0, json.loads(output)


async def told(room: Room) -> dict[str, Any]:
    """What ``lampwright alarms`` says of kestrel's alarm; empty where it is normal."""
    code, all_of_it = await lampwright(room, "alarms")
    assert code == 0
    mine = [each for each in all_of_it["alarms"] if each["alarm"] == "broken"]
    assert len(mine) < 2
    return mine[0] if mine else {}


async def becomes(room: Room, state: str, lid: str) -> dict[str, Any]:
    """Let kestrel say how its lid is until the alarm is in this state, and its condition known."""

    def is_so() -> bool:
        # Without a process for each look.
        with Daemon(room.site, {"RUNTIME_DIRECTORY": str(room.folder)}) as daemon:
            alarms = daemon.ask({"ask": "view"})["alarms"]
        mine = [
            each for each in alarms if (each["alarm"], each["printer"]) == ("broken", "kestrel")
        ]
        return [(each["shown"], each["unconfirmed"]) for each in mine] == [(state, False)]

    async with asyncio.timeout(20):
        await room.kestrel("waiting", snag_lid=lid)
        while not await asyncio.to_thread(is_so):  # noqa: ASYNC110 - of another process
            await asyncio.sleep(0.05)
    return await told(room)


async def taken(room: Room, command: str, *words: str) -> None:
    """A command that is obeyed; what is answered as kept is kept."""
    code, answer = await lampwright(room, command, *words)
    (only,) = answer["answers"]
    assert (code, only["taken"], only["kept"]) == (0, True, True), only


async def kill(bridge: Bridge) -> None:
    """``kill -9``."""
    bridge.process.send_signal(signal.SIGKILL)
    assert await asyncio.to_thread(bridge.process.wait) == -signal.SIGKILL


def latching(room: Room, off_delay: str) -> None:
    """Let the alarm be one of sequence R, which has every state."""
    path = room.site / "rules.yaml"
    text = path.read_text("utf-8")
    before, found, after = text.partition("  broken:\n")
    assert found
    # The first of what follows is its own.
    own, wrote, rest = after.partition(f"    off_delay: {OVER_AFTER_MS}ms\n")
    assert wrote
    changed = f"    sequence: R\n    off_delay: {off_delay}\n"
    path.write_text(before + found + own + changed + rest, "utf-8")


@pytest.mark.parametrize("state", STATES)
@pytest.mark.asyncio
async def test_every_state_of_an_alarm_survives_a_kill(room: Room, state: str) -> None:
    """The same state, occurrence, instants and light; unconfirmed until the printer is heard."""
    case = STATES[state]
    latching(room, case.off_delay)
    lid, before = "clear", dict[str, Any]()
    with bridge_of(room, "first") as bridge:
        await bridge.is_up(room)
        for step, leads_to in case.steps:
            if isinstance(step, str):
                lid = step
            else:
                await taken(room, *step)
            before = await becomes(room, leads_to, lid)
        await until(lambda: room.bar() == case.heard, f"the look of {state}", bridge)
        await kill(bridge)
    for place in room.places.values():
        place.requests.clear()
    with bridge_of(room, "second") as bridge:
        await bridge.is_up(room)
        after = await told(room)
        assert (after["state"], after["occurrence"]) == (state, before["occurrence"])
        await until(
            lambda: room.not_known if case.unheard is None else room.bar() == case.unheard,
            f"the look of {state} with nothing heard",
            bridge,
        )
        after = await becomes(room, state, lid)
        # Told in whole seconds from how long ago, so a second may lie between.
        for name in ("since", "until"):
            was, is_ = before.pop(name), after.pop(name)
            assert (was is None) is (is_ is None)
            assert was is None or abs(seconds(is_) - seconds(was)) <= 1
        assert after == before
        await until(lambda: room.bar() == case.heard, f"the look of {state}", bridge)
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_a_late_acknowledgement_does_not_silence_what_came_since(room: Room) -> None:
    """Acknowledged, killed, and true when it is heard again: a new alarm, which only its own ends.

    Nobody knows what was meanwhile, and its off-delay is over.
    """
    latching(room, "0s")
    with bridge_of(room, "first") as bridge:
        await bridge.is_up(room)
        older = (await becomes(room, "unacknowledged", "ajar"))["occurrence"]
        await taken(room, "acknowledge", "--occurrence", older)
        await becomes(room, "acknowledged", "ajar")
        await kill(bridge)
    with bridge_of(room, "second") as bridge:
        await bridge.is_up(room)
        newer = (await becomes(room, "unacknowledged", "ajar"))["occurrence"]
        assert newer != older
        code, answer = await lampwright(room, "acknowledge", "--occurrence", older)
        (only,) = answer["answers"]
        assert (code, only["taken"], only["kept"]) == (1, False, False)
        assert f"{newer} stands" in only["why"]
        assert (await becomes(room, "unacknowledged", "ajar"))["occurrence"] == newer
        await until(lambda: room.bar() == TROUBLE, "the new one's look", bridge)
        await taken(room, "acknowledge", "--occurrence", newer)
        await until(lambda: room.bar() == ACKNOWLEDGED, "the look of what was seen", bridge)
        assert await bridge.end() == 0


@contextmanager
def aboard(room: Room) -> Iterator[subprocess.Popen[bytes]]:
    """Kestrel's own connection, whose will the broker publishes when its power is gone."""
    address = ("-h", room.broker.host, "-p", str(room.broker.port), "-t", "alder/kestrel/unused")
    will = ("--will-topic", "alder/kestrel/aboard", "--will-payload", "gone", "--will-retain")
    command = ["mosquitto_sub", *address, *will, "-W", "60"]
    process = subprocess.Popen(command)
    try:
        yield process
    finally:
        process.kill()
        process.wait()


async def lays_63_courses(room: Room, bridge: Bridge) -> None:
    """Kestrel is well under way, and the last one at the workroom goes home."""
    await room.publish("alder/kestrel/aboard", b"aye", "-r")
    await room.kestrel("laying", laid="63 of 100 courses", outcome="under way")
    await until(lambda: room.filled == 76, "63 % of 120 pixels", bridge)
    # What a person is told to be kept takes with it to the disk whatever waits for it.
    await taken(room, "hold", "door-sill", "dark", "--for", "8h")


async def the_morning_knows(room: Room, bridge: Bridge) -> None:
    """The alarm stands, its light flashes, and history has the job with what it had reached."""
    await until(lambda: room.bar() == VANISHED, "the look of the alarm", bridge)
    code, answer = await lampwright(room, "alarms")
    stands = {(each["printer"], each["alarm"]): each["state"] for each in answer["alarms"]}
    assert (code, stands) == (0, {("kestrel", "vanished"): "unacknowledged"})
    # History is written down once a minute, and when the bridge ends.
    assert await bridge.end() == 0
    narrowed = ("--printer", "kestrel", "--journal", str(_journal(room)))
    code, history = await lampwright(room, "history", *narrowed)
    jobs = [each for each in history["lines"] if each["subject"] == "job"]
    assert (code, [(each["what"], each["progress"]) for each in jobs]) == (0, [("vanished", 0.63)])
    raised = [each["what"] for each in history["lines"] if each["subject"] == "alarm"]
    assert raised == ["raised"]


@pytest.mark.asyncio
async def test_a_printer_that_dies_in_the_night_says_so_in_the_morning(room: Room) -> None:
    """Its link goes down at 63 %, at once; and when it is back, idle, nothing is forgotten."""
    with bridge_of(room, "night") as bridge, aboard(room) as connection:
        await bridge.is_up(room)
        await lays_63_courses(room, bridge)
        connection.kill()
        await until(lambda: room.bar() == VANISHED, "the look of the alarm", bridge)
        await room.publish("alder/kestrel/aboard", b"aye", "-r")
        await idles(room)
        await the_morning_knows(room, bridge)


@pytest.mark.asyncio
async def test_a_power_cut_that_takes_the_bridge_too_is_told_in_the_morning(room: Room) -> None:
    """Both die at 63 %, and the printer is idle when both are back."""
    with bridge_of(room, "night") as bridge:
        await bridge.is_up(room)
        await lays_63_courses(room, bridge)
        await kill(bridge)
    with bridge_of(room, "morning") as bridge:
        await bridge.is_up(room)
        await idles(room)
        await the_morning_knows(room, bridge)


async def idles(room: Room) -> None:
    """Kestrel is at rest and knows of no job, for longer than the bridge waits for an outcome."""
    loop = asyncio.get_running_loop()
    end = loop.time() + OUTCOME_WITHIN_MS / 1000 + 1
    while loop.time() < end:
        await room.kestrel("ashore", outcome="nothing")
        await asyncio.sleep(1)


def seconds(text: str) -> float:
    """An instant as a number."""
    return datetime.fromisoformat(text).timestamp()
