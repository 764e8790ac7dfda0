"""The campaign's sites: the files under ``site/``, with printers and tables dealt anew.

The numbers and colours here are the files' own, written a second time for those who share no code
with the bridge; ``test_sites.py`` holds the two together.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random
from typing import Final, NamedTuple

from bridge.engine.site import Site
from bridge.settings.load import load_site


class Scene(NamedTuple):
    """One scene of the legend; ``motion`` is its flash's rate, or ``steady``."""

    says: str
    colour: tuple[int, int, int]
    brightness: float
    motion: str = "steady"
    form: str = "whole"

    @property
    def comforts(self) -> bool:
        """Whether it says that nothing is wanted."""
        return self.says in {"well", "resting"}


SCENES: Final = {
    "warm": Scene("resting", (0xFF, 0x96, 0x3C), 0.3),
    "ready": Scene("resting", (0x00, 0x78, 0xFF), 0.2),
    "filling": Scene("well", (0x00, 0xB0, 0x60), 0.6, form="gauge"),
    "not-known": Scene("unknown", (0xD8, 0xD8, 0xD0), 0.25, form="every-third"),
    "soon": Scene("notice", (0xA0, 0x00, 0xFF), 0.6),
    "clear-me": Scene("notice", (0xFF, 0xB0, 0x00), 0.5),
    "see-me": Scene("act", (0xFF, 0xB0, 0x00), 0.8, "slow"),
    "feed-me": Scene("act", (0x2A, 0x60, 0xFF), 0.8, "normal"),
    "trouble": Scene("trouble", (0xFF, 0x2A, 0x1A), 1.0, "normal"),
    "stuck": Scene("act", (0xFF, 0x5A, 0x00), 0.7),
    "empty": Scene("act", (0x2A, 0x60, 0xFF), 0.7),
    "gaping": Scene("trouble", (0xFF, 0x2A, 0x1A), 0.9),
}
GAUGE_BACKGROUND: Final = (0x00, 0x24, 0x1A)
FRESH_MS: Final = {"doing": 20_000, "laid": 30_000, "snag": 40_000, "page": 25_000}


class Alarm(NamedTuple):
    """One alarm; ``escalates_ms`` is 0 where it never does."""

    name: str
    on_ms: int
    off_ms: int
    sequence: str
    escalates_ms: int = 0


ALARMS: Final = (
    Alarm("aground", 6000, 4000, "M"),
    Alarm("out-of-material", 3000, 5000, "R", 45_000),
    Alarm("lid-open", 1000, 2000, "A"),
)
#: The times in the table ``desk``.
DRAGS_ON_MS: Final = 70_000
AT_REST_MS: Final = 25_000


class Pace(NamedTuple):
    """What a controller bears; ``read_every_ms`` is 0 where nothing can be read back."""

    requests: int  # in any second
    timeout_ms: int
    settles_in_ms: int
    read_every_ms: int
    pixels: int


PACES: Final = {
    "frame": Pace(6, 3000, 300, 15_000, 40),
    "rack": Pace(2, 2000, 200, 0, 24),
    "sill": Pace(3, 2500, 300, 12_000, 40),
    "hood": Pace(10, 1500, 100, 9000, 24),
    "beam": Pace(4, 2000, 200, 10_000, 28),
    "rail": Pace(4, 2000, 200, 10_000, 20),
}
#: Those that paint nothing, so that a gauge is whole.
PAINTLESS: Final = frozenset({"sill", "beam", "rail"})
#: Those that have no flash of their own: one stands still on the rack, and is painted on the hood.
FLASHLESS: Final = frozenset({"rack", "hood"})
#: How bright the dimmer half of a painted flash is against its brighter one.
DIMMER: Final = 0.25


class Supply(NamedTuple):
    """What hangs on a supply, what it bears, and what a lit channel and a dark pixel draw of it."""

    feeds: tuple[str, ...]
    limit_ua: int
    channel_ua: int
    idle_ua: int


CABINET: Final = Supply(("sill", "hood"), 350_000, 12_000, 500)


class Strip(NamedTuple):
    """One segment; without printers it shows ``warm``."""

    name: str
    controller: str
    number: int
    first: int
    length: int
    printers: tuple[str, ...] = ()
    table: str = ""


_STRIPS: Final = (
    Strip("top", "frame", 1, 0, 20, ("kestrel",), "wall"),
    Strip("side", "frame", 2, 20, 10, ("plover",), "wall"),
    Strip("desk", "frame", 3, 30, 10, ("kestrel", "plover"), "desk"),
    Strip("shelf", "rack", 0, 0, 14, ("heron",), "wall"),
    Strip("lamp", "rack", 0, 14, 10),
    Strip("left", "sill", 1, 0, 15, ("kestrel",), "door"),
    Strip("right", "sill", 2, 15, 15, ("plover",), "door"),
    Strip("post", "sill", 3, 30, 10, ("heron",), "desk"),
    Strip("brim", "hood", 1, 0, 14, ("kestrel",), "wall"),
    Strip("peak", "hood", 2, 14, 10),
    Strip("rung", "beam", 1, 0, 8, ("kestrel",), "wall"),
    Strip("knee", "beam", 2, 8, 8, ("plover",), "door"),
    Strip("rod", "rail", 1, 0, 12, ("heron",), "wall"),
)
PRINTERS: Final = ("kestrel", "plover", "heron")


#: Controllers that a seed may have to do without; without the hood nothing hangs on a supply.
AWAY: Final = (("hood",), ("hood",), ("beam", "rail"), ("beam", "rail"), ())


def deal(chance: Random) -> tuple[Strip, ...]:
    """Printers and tables anew; on ``desk`` and ``post`` every printer is seen once.

    Mostly either the supply with its painted flashes or the pair is left out, for speed.
    """
    order = tuple(chance.sample(PRINTERS, 3))
    seated = {"desk": order[:2], "post": order[2:], "lamp": (), "peak": ()}
    dealt = [
        strip._replace(printers=seated[strip.name])
        if strip.name in seated
        else strip._replace(
            printers=(chance.choice(PRINTERS),),
            # Painted flashes take many requests: not in every seed.
            table=chance.choice(("wall", "door", "door" if strip.name == "brim" else "wall")),
        )
        for strip in _STRIPS
    ]
    away = chance.choice(AWAY)
    return tuple(strip for strip in dealt if strip.controller not in away)


@cache
def written() -> Site:
    """The site as its files say."""
    return load_site(Path(__file__).with_name("site"))


def site_of(strips: tuple[Strip, ...]) -> Site:
    """The same as the bridge is told it."""
    segments = {strip.name: written().segments[strip.name] for strip in strips}
    for strip in strips:
        if strip.printers:
            dealt = replace(segments[strip.name], printers=strip.printers, table=strip.table)
            segments[strip.name] = dealt
    there = {strip.controller for strip in strips}
    controllers = {name: each for name, each in written().controllers.items() if name in there}
    supplies = written().supplies if hangs(strips) else {}
    return replace(written(), segments=segments, controllers=controllers, supplies=supplies)


def hangs(strips: tuple[Strip, ...]) -> bool:
    """Whether this site has its supply."""
    return any(strip.controller == "hood" for strip in strips)
