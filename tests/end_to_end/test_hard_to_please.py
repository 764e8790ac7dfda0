"""Controllers of five kinds that are hard to please, and the real bridge that has to please them.

What is wrong is switched while everything runs, over HTTP as by hand; what is right is read off the
raw pixels by the simulator's own reference, which knows nothing of the bridge.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import aiohttp
import pytest
import pytest_asyncio

from bridge.simulator.reference import recognised
from bridge.simulator.servers import Server
from bridge.simulator.stage import running_ms
from bridge.simulator.switchboard import switchboard
from tests.conftest import Mosquitto
from tests.end_to_end.workroom import Bridge, Room, running, until, workroom

#: Where kestrel shows, on every kind: controller, first pixel, length.
KESTRELS = {
    "door": (0, 120),
    "bench": (36, 36),
    "yard": (0, 20),
    "pier": (0, 20),
}
#: What tells of no printer.
RESTING = {"rack": (60, 30), "yard": (20, 40), "pier": (20, 20)}
AT_REST = {"rack": "dark", "yard": "warm", "pier": "warm"}
#: A read-back each two seconds in this copy, its settling, bad luck, and a machine that is busy.
RIGHT_AGAIN_S = 60.0


@dataclass
class Hard:
    """The room and its switchboard."""

    room: Room
    server: Server

    async def switch(self, name: str, **faults: object) -> None:
        """What is wrong with a controller from now on."""
        await self._does("PUT", f"/{name}", faults)

    async def does(self, name: str, deed: str) -> None:
        """Something happens to it."""
        await self._does("POST", f"/{name}/{deed}", None)

    async def _does(self, method: str, path: str, body: object) -> None:
        async with (
            aiohttp.ClientSession() as session,
            session.request(method, self.server.url + path, json=body) as answer,
        ):
            assert answer.status == 200, await answer.text()

    def shows(self, name: str, first: int, length: int) -> str:
        """The scene that these pixels are, in the reference's eyes, over five seconds to come."""
        board = self.room.places[name].board

        def pixels(at_ms: int) -> bytes:
            return board.board.frame(at_ms)[3 * first : 3 * (first + length)]

        return recognised(pixels, running_ms())

    def lit(self, name: str, first: int, length: int) -> bytes:
        """The brightest of those pixels now."""
        cells = self.room.places[name].board.pixels(running_ms())[3 * first : 3 * (first + length)]
        return max(cells[at : at + 3] for at in range(0, len(cells), 3))


@asynccontextmanager
async def hard_room(folder: Path, broker: Mosquitto) -> AsyncIterator[Hard]:
    """Five kinds of controllers, and the switchboard."""
    async with workroom(folder, broker, with_guests=True) as room:
        server = switchboard({n: place.board for n, place in room.places.items()}, running_ms)
        await server.start()
        try:
            yield Hard(room, server)
        finally:
            await server.stop()


@pytest_asyncio.fixture
async def hard(tmp_path: Path, mosquitto: Mosquitto) -> AsyncIterator[Hard]:
    """The room, with all well."""
    async with hard_room(tmp_path, mosquitto) as made:
        yield made


async def acknowledged(hard: Hard, bridge: Bridge) -> None:
    """Kestrel is out of material, somebody has seen it, and all that tell of it say so."""
    await hard.room.kestrel("laying", snag_spool="out")
    await bridge.says("segment=jib", "scene=feed-me")
    await hard.room.press()
    await all_say("feed-me", hard, bridge)


async def all_say(scene: str, hard: Hard, bridge: Bridge) -> float:
    """Wait until every kind of controller says it; how long that took."""
    return await until(
        lambda: all(scene == said(hard, name) for name in KESTRELS),
        f"{scene} everywhere, not {[said(hard, name) for name in KESTRELS]}",
        bridge,
        RIGHT_AGAIN_S,
    )


def at_rest(hard: Hard) -> dict[str, str]:
    """What those show that tell of no printer."""
    return {name: hard.shows(name, *where) for name, where in RESTING.items()}


def said(hard: Hard, name: str) -> str:
    """What its pixels say of kestrel; of the yard, which is painted, what its colour says."""
    first, length = KESTRELS[name]
    if name != "yard":
        return hard.shows(name, first, length)
    lit = hard.lit(name, first, length)
    is_blue = lit[2] > 150 and lit[2] > 2 * lit[1] > 2 * lit[0]
    return "feed-me" if is_blue else f"#{lit.hex()}"


@pytest.mark.asyncio
async def test_five_kinds_say_the_same(hard: Hard) -> None:
    """And what tells of no printer rests; the yard is cut first, the lamps are lit after."""
    with running(hard.room) as bridge:
        await bridge.is_up(hard.room)
        await acknowledged(hard, bridge)
        assert at_rest(hard) == AT_REST
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_a_bad_day_is_lived_through(hard: Hard) -> None:
    """Slow, deaf, forgetful, lying and busy at once: late, but right, also after a power cut."""
    with running(hard.room) as bridge:
        await bridge.is_up(hard.room)
        await hard.switch("door", delay_ms=[5, 900], fades_ms=700)
        await hard.switch("rack", bears=6, too_many="hangs up")
        await hard.switch("bench", one_connection=True, hangs_up_after="unannounced")
        await hard.switch("yard", loses=3, bears=4)
        await hard.switch("pier", says_no=2, hangs_up_after="as announced")
        await acknowledged(hard, bridge)
        for name in hard.room.places:
            await hard.does(name, "reboot")
        assert said(hard, "door") != "feed-me"
        await all_say("feed-me", hard, bridge)
        # Whether it was noticed as a restart or as drift hangs on what had been read by then.
        await bridge.says("controller restarted")
        await until(lambda: at_rest(hard) == AT_REST, "the others at rest", bridge, RIGHT_AGAIN_S)
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_somebody_at_the_buttons_is_overruled_while_there_is_an_alarm(hard: Hard) -> None:
    """Main switches included."""
    with running(hard.room) as bridge:
        await bridge.is_up(hard.room)
        await acknowledged(hard, bridge)
        for name in KESTRELS:
            await hard.does(name, "darken")
        await bridge.says("switch", "controller=yard")
        await all_say("feed-me", hard, bridge)
        assert await bridge.end() == 0


@pytest.mark.asyncio
async def test_another_at_its_address_is_told_nothing(hard: Hard) -> None:
    """After its power was gone it is somebody else: named, left alone, the others go on."""
    with running(hard.room) as bridge:
        await bridge.is_up(hard.room)
        await acknowledged(hard, bridge)
        await hard.switch("pier", identity="somebody else")
        await hard.does("pier", "reboot")
        await bridge.says("somebody else", "controller=pier", seconds=RIGHT_AGAIN_S)
        writes = hard.room.places["pier"].board.writes
        await all_but("pier", hard, bridge)
        assert hard.room.places["pier"].board.writes == writes
        assert await bridge.end() == 0


async def all_but(odd: str, hard: Hard, bridge: Bridge) -> None:
    """Wait until the others say it."""
    names = [name for name in KESTRELS if name != odd]
    await until(
        lambda: all(said(hard, name) == "feed-me" for name in names),
        "feed-me on the others",
        bridge,
        RIGHT_AGAIN_S,
    )


@pytest.mark.asyncio
async def test_one_that_rounds_colours_is_reported_and_not_pestered(hard: Hard) -> None:
    """What it was told and what it says it shows will never agree: so much is said, once."""
    with running(hard.room) as bridge:
        await bridge.is_up(hard.room)
        await hard.switch("bench", coarse=32)
        await hard.room.kestrel("laying", snag_spool="out")
        await bridge.says("does not keep what it is told", "bench-right", seconds=RIGHT_AGAIN_S)
        writes = hard.room.places["bench"].board.writes
        await bridge.says("segment=door-frame", "scene=feed-me")
        before = running_ms()
        await until(lambda: running_ms() - before > 4000, "four seconds", bridge)
        assert hard.room.places["bench"].board.writes - writes <= 2
        assert len(bridge.lines("does not keep what it is told", "bench-right")) == 1
        assert await bridge.end() == 0
