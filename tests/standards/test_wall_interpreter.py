"""The simulated controllers' raw pixels, and a second reading of the requests, are the same wall.

The requests are those of the example's own dialects, sent over real HTTP to the simulators; the
reference is ``wall_interpreter``, which is also held to the look that was wished. An error in a
dialect, a codec or a simulator that agreed with each other would show here.
"""

from __future__ import annotations

import random

import aiohttp
import pytest
from yarl import URL

from bridge.engine.site import Site
from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.look import Look, Native, Still
from bridge.lights.rendering import render
from bridge.scenes.scene import PERIOD_MS
from bridge.settings.load import load_site
from bridge.simulator.evening import controllers
from bridge.simulator.servers import controller_server
from tests.standards.wall_interpreter import Pixel, Wall
from tests.structure.trees import ROOT

LOOKS = 60
#: Rounding on the way: a code value for the colour and one for the level.
SLACK = 2.0
#: About the middle and the end of every period of the three, and between.
INSTANTS_MS = (
    *(0, 249, 251, 299, 301, 349, 351, 499, 501, 599, 601, 699, 701, 749, 751, 799, 801, 999),
    *(1001, 1499, 1501, 1599, 1601, 1999, 2001, 2299),
)


def some_look(chance: random.Random, dialect: Dialect, pixels: int) -> Look:
    """Any look that the dialect can show."""
    colour = (chance.randrange(256), chance.randrange(256), chance.randrange(256))
    level = chance.choice((0.0, 0.08, 0.3, 0.6, 1.0))
    kind = chance.choice(("steady", "flash", "bar", "speckled"))
    if kind == "flash":
        rate = chance.choice(tuple(PERIOD_MS))
        if dialect.can("flash", rate) is not None and level:
            return Native("flash", colour, level, rate)
    if kind in {"steady", "flash"}:
        return Native("steady", colour, level)
    if kind == "bar":
        lit = chance.randrange(pixels + 1)
        return Still(bytes(colour) * lit + bytes((0, 36, 26)) * (pixels - lit))
    return Still(chance.randbytes(3 * pixels))


async def send(session: aiohttp.ClientSession, url: str, request: Prepared) -> None:
    """As the bridge does."""
    address = URL(url + request.path, encoded=True)
    async with session.request(
        request.method, address, data=request.body, headers=dict(request.headers)
    ) as answer:
        await answer.read()
        assert answer.status in {200, 204}


def near(shown: bytes, wanted: list[Pixel]) -> bool:
    """Every channel of every pixel."""
    flat = [channel for pixel in wanted for channel in pixel]
    return len(shown) == len(flat) and all(
        abs(one - other) <= SLACK for one, other in zip(shown, flat, strict=True)
    )


def wished(look: Look, pixels: int) -> bytes:
    """What the look is where it is at its fullest, by what a colour and a level mean."""
    if isinstance(look, Native):
        return bytes(round(channel * look.level) for channel in look.colour) * pixels
    assert isinstance(look, Still)
    return look.frame


@pytest.fixture(scope="module")
def site() -> Site:
    """The example."""
    return load_site(ROOT / "config")


@pytest.mark.asyncio
@pytest.mark.parametrize("name", ["door", "rack", "bench"])
async def test_pixels_are_what_the_requests_say(site: Site, name: str) -> None:
    """Natives, flashes, gauges, single pixels, and changes of only some of them."""
    chance, board = random.Random(name), controllers(now_ms=0)[name]
    places = [each.place for each in site.segments.values() if each.controller == name]
    dialect = Dialect(site.dialects[site.controllers[name].dialect])
    wall = Wall(
        dialect.name, board.board.pixels, {str(p.number): (p.first, p.length) for p in places}
    )
    server = controller_server(board, lambda: 0)
    url = await server.start()
    before: dict[str, bytes] = {}
    try:
        async with aiohttp.ClientSession() as session:
            for place in places:  # what it shows at power-up is its own
                for request in render(dialect, place, Native("steady", (0, 0, 0), 0.0)):
                    await send(session, url, request)
                    wall.told(request.method, request.path, request.body)
            for _ in range(LOOKS):
                place = chance.choice(places)
                look = some_look(chance, dialect, place.length)
                for request in render(dialect, place, look, before.get(place.segment)):
                    await send(session, url, request)
                    wall.told(request.method, request.path, request.body)
                before.pop(place.segment, None)
                if isinstance(look, Still):
                    before[place.segment] = look.frame
                seen: set[tuple[Pixel, ...]] = set()
                for now_ms in INSTANTS_MS:
                    pixels = wall.at(now_ms)
                    assert near(board.pixels(now_ms), pixels), (str(look), now_ms)
                    seen.add(tuple(pixels[place.first : place.first + place.length]))
                assert near(wished(look, place.length), list(max(seen))), str(look)
                flashes = isinstance(look, Native) and look.effect == "flash" and any(look.colour)
                assert len(seen) == 1 + flashes, str(look)
    finally:
        await server.stop()
