"""Two more kinds of simulated controllers, and a second reading of the requests, are the same wall.

As ``test_wall_interpreter``, by the example's dialects ``sails`` and ``lamps`` over real HTTP: cut
before it shows, painted, with a white of its own; read, echoed, lit, winking and burning down.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import dataclass, field

import aiohttp
import pytest

from bridge.lights.dialect.dialect import Dialect, Misread, Observation, Prepared
from bridge.lights.look import Look, Native, Still
from bridge.lights.place import Place
from bridge.settings.load import load_site
from bridge.simulator.controllers import SimulatedController
from bridge.simulator.evening import guests
from bridge.simulator.lamps import Lamp, Lamps
from bridge.simulator.servers import Server, controller_server
from tests.standards.test_wall_interpreter import near, send, some_look, wished
from tests.standards.wall_guests import Pier, Yard
from tests.standards.wall_interpreter import Pixel
from tests.structure.trees import ROOT

LOOKS = 60
#: About the halves of both winks, and after anything has eased out.
INSTANTS_MS = (1000, 1279, 1281, 1599, 1601, 1799, 1801, 1919, 1921, 2239, 2241, 2699, 2701, 3599)
BETWEEN_MS = 3600


@dataclass
class Bench:
    """A controller, its server, its dialect and the second reading of all it is told."""

    board: SimulatedController
    dialect: Dialect
    wall: Yard | Pier
    places: tuple[Place, ...]
    now_ms: int = 0
    server: Server = field(init=False)

    def __post_init__(self) -> None:
        self.server = controller_server(self.board, lambda: self.now_ms)

    async def tell(self, session: aiohttp.ClientSession, request: Prepared) -> None:
        """Both of them."""
        await send(session, self.server.url, request)
        self.wall.told(request.path, request.body or b"", self.now_ms)

    async def seen(self, session: aiohttp.ClientSession) -> Observation:
        """What it says of itself."""
        ((request, places),) = self.dialect.reads_for(self.places)
        async with session.get(self.server.url + request.path) as answer:
            found = self.dialect.observed(await answer.read(), places)
        assert not isinstance(found, Misread)
        return found

    def near(self, at_ms: int) -> bool:
        """Whether the pixels of our segments are what the requests say."""
        shown, wanted = self.board.pixels(at_ms), self.wall.at(at_ms)
        return all(
            near(shown[3 * p.first : 3 * p.last + 3], wanted[p.first : p.last + 1])
            for p in self.places
        )


def yard() -> Bench:
    """Two sails, one of which begins in the middle."""
    places = (Place("jib", "A", 0, 20), Place("main", "B", 20, 36))
    return Bench(guests()["yard"], dialect("sails"), Yard(60), places)


def pier() -> Bench:
    """Two lamps of ours, and one that somebody else trims."""
    places = (Place("fore", "fore", 0, 20), Place("aft", "aft", 20, 20))
    lamps = {"fore": (0, 20), "aft": (20, 20), "mooring": (40, 8)}
    return Bench(guests()["pier"], dialect("lamps"), Pier(lamps), places)


def dialect(name: str) -> Dialect:
    """One of the example's."""
    return Dialect(load_site(ROOT / "config").dialects[name])


@pytest.mark.asyncio
@pytest.mark.parametrize("make", [yard, pier])
async def test_pixels_are_what_the_requests_say(make: Callable[[], Bench]) -> None:
    """Natives, winks, single pixels; what was cut, echoed, and lit after all."""
    bench, chance = make(), random.Random(7)
    await bench.server.start()
    try:
        async with aiohttp.ClientSession() as session:
            if bench.dialect.defines:
                for place in bench.places:
                    await bench.tell(session, bench.dialect.define(place))
            for _ in range(LOOKS):
                bench.now_ms += BETWEEN_MS
                place = chance.choice(bench.places)
                look = some_look(chance, bench.dialect, place.length)
                if isinstance(look, Still) and not bench.dialect.paints:
                    continue
                await _show(bench, session, place, look)
                await _looks_right(bench, session, place, look)
    finally:
        await bench.server.stop()


async def _show(bench: Bench, session: aiohttp.ClientSession, place: Place, look: Look) -> None:
    if isinstance(look, Native):
        items = [(place, look)]
        echo = (await bench.seen(session)).items if bench.dialect.echoes else ()
        requests = (bench.dialect.show(items, echo), *bench.dialect.after_show(items))
    else:
        assert isinstance(look, Still)
        requests = bench.dialect.paint(place, look.frame, None)
    for request in requests:
        await bench.tell(session, request)


async def _looks_right(
    bench: Bench, session: aiohttp.ClientSession, place: Place, look: Look
) -> None:
    seen: set[tuple[Pixel, ...]] = set()
    for after_ms in INSTANTS_MS:
        at_ms = bench.now_ms + after_ms
        # The yard's looks ease; what the clock of the pier winks by began with its power.
        assert bench.near(at_ms), (str(look), at_ms)
        seen.add(tuple(bench.wall.at(at_ms)[place.first : place.first + place.length]))
    assert near(wished(look, place.length), list(max(seen))), str(look)
    flashes = isinstance(look, Native) and look.effect == "flash" and any(look.colour)
    assert len(seen) == 1 + flashes, str(look)
    values = (await bench.seen(session)).seen[place.segment]
    assert bench.dialect.differences(place, look, values) == ()


@pytest.mark.asyncio
async def test_what_is_not_ours_is_sent_back_as_it_was() -> None:
    """The mooring lamp winks as somebody trimmed it, whatever we tell the others."""
    bench = pier()
    assert isinstance(bench.board, Lamps)
    bench.board.trim("mooring", Lamp("hsl(200, 60%, 40%)", "30 %", wink=2000), 0)
    mooring = bench.board.pixels(0)[120:]
    await bench.server.start()
    try:
        async with aiohttp.ClientSession() as session:
            await _show(bench, session, bench.places[1], Native("steady", (9, 90, 200), 0.5))
            assert bench.board.pixels(0)[120:] == mooring
            assert bench.board.pixels(1500)[120:] == bytes(round(c / 4 + 0.001) for c in mooring)
            async with session.get(bench.server.url + "/pier") as answer:
                (item,) = json.loads(await answer.read())["lamps"][2:]
            assert item["wink"] == 2000
    finally:
        await bench.server.stop()


@pytest.mark.asyncio
async def test_a_look_that_nobody_tells_again_burns_down() -> None:
    """After the time that the dialect says, and not before."""
    bench = pier()
    await bench.server.start()
    try:
        async with aiohttp.ClientSession() as session:
            await _show(bench, session, bench.places[0], Native("steady", (200, 0, 0), 1.0))
            for at_ms, is_lit in ((59_999, True), (60_000, False)):
                assert any(bench.board.pixels(at_ms)[:3]) is is_lit
                assert bench.near(at_ms)
    finally:
        await bench.server.stop()
