"""An evening at the club on Alder Lane: the lives, the boards and the mishaps of the demo.

Written for 60 s and stretched or squeezed to any length. The example site's printers and
controllers are made here, so that they are the same by hand, in the demo and in the campaign.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from bridge.simulator.bars import Bars
from bridge.simulator.beads import Beads
from bridge.simulator.controllers import SimulatedController
from bridge.simulator.lamps import Lamps
from bridge.simulator.life import Closed, Doing, Life, Snag, Stretch, life_by_chance
from bridge.simulator.printers import Ledger, LogBook, Pieces
from bridge.simulator.reference import Press
from bridge.simulator.sails import Sails
from bridge.simulator.shelves import Shelves

WRITTEN_FOR_S: Final = 60.0
LOST_WRITES: Final = 2
REFUSED_REQUESTS: Final = 3

_Written = tuple[float, Stretch]


def _lasts(seconds: float, doing: Doing, reaches: float = 0.0) -> _Written:
    return seconds, Stretch(doing, 0, reaches)


def _stands(seconds: float, snag: Snag) -> _Written:
    return seconds, Stretch(Doing.SNAGGED, 0, snag=snag)


def _closes(seconds: float, closed: Closed) -> _Written:
    return seconds, Stretch(Doing.RESTING, 0, closed=closed)


_KESTREL: Final = (
    _lasts(3, Doing.RESTING),
    _lasts(3, Doing.WARMING),
    _lasts(9, Doing.WORKING, 0.55),
    _stands(8, Snag.SPOOL),
    _lasts(11, Doing.WORKING, 1.0),
    _closes(8, Closed.SOUND),
    _lasts(5, Doing.RESTING),
    _lasts(3, Doing.WARMING),
    _lasts(10, Doing.WORKING, 0.35),
)
_PLOVER: Final = (
    _lasts(2, Doing.WARMING),
    _lasts(11, Doing.WORKING, 0.6),
    _stands(8, Snag.FEED),
    _closes(7, Closed.SPOILED),
    _lasts(3, Doing.WARMING),
    _lasts(10, Doing.WORKING, 0.7),
    # To the end: a polled printer that comes back is noticed only when it is asked again, and the
    # pauses between failed polls grow beyond what an evening of a minute could wait for.
    _lasts(19, Doing.OFF),
)
_HERON: Final = (
    _lasts(7, Doing.RESTING),
    _lasts(2, Doing.WARMING),
    _lasts(12, Doing.WORKING, 0.5),
    _lasts(7, Doing.HELD),
    _lasts(8, Doing.WORKING, 0.85),
    _closes(8, Closed.CALLED_OFF),
    _lasts(7, Doing.OFF),
    _lasts(9, Doing.RESTING),
)


@dataclass(frozen=True, slots=True)
class Mishap:
    """Something that goes wrong with a controller."""

    at_ms: int
    controller: str
    what: Literal["reboots", "refuses", "loses writes"]

    def __str__(self) -> str:
        if self.what == "reboots":
            return f"{self.controller} loses its power for a moment and forgets everything"
        if self.what == "refuses":
            return f"{self.controller} answers its next {REFUSED_REQUESTS} requests with 500"
        return f"{self.controller} says yes to its next {LOST_WRITES} writes and loses them"


_MISHAPS: Final = (
    # Just before the kestrel's spool runs out, so that the light that says so is lost too.
    Mishap(14_800, "door", "loses writes"),
    Mishap(25_000, "bench", "reboots"),
    Mishap(32_000, "rack", "refuses"),
)


#: Somebody at the lathe sees the lights beat, and somebody takes the finished part out.
_PRESSES: Final = (Press(18_000, "lathe"), Press(42_000, "bench"))
#: The topic of each button, and what it says.
BUTTONS: Final = {"lathe": "alder/lathe/button", "bench": "alder/bench/button"}
PRESSED: Final = "pressed"


@dataclass(frozen=True, slots=True)
class Printers:
    """The club's three, each with a way of speaking of its own."""

    kestrel: Pieces
    plover: Ledger
    heron: LogBook


def evening(seconds: float, *, says_every_ms: int = 10_000) -> Printers:
    """The printers with the lives of the evening, told in ``seconds``."""
    kestrel, plover, heron = (_life(row, seconds) for row in (_KESTREL, _PLOVER, _HERON))
    return printers(kestrel, plover, heron, says_every_ms=says_every_ms)


def printers(kestrel: Life, plover: Life, heron: Life, *, says_every_ms: int = 10_000) -> Printers:
    """The printers of the example site with any lives."""
    return Printers(
        Pieces("kestrel", kestrel, "alder/kestrel", every_ms=says_every_ms),
        Ledger("plover", plover),
        LogBook("heron", heron, "alder/heron"),
    )


def printers_by_chance(seed: int, until_ms: int, pace: float = 1.0) -> Printers:
    """The printers of the example site with lives that the seed decides."""
    chance = random.Random(seed)
    kestrel, plover, heron = (life_by_chance(chance, until_ms, pace) for _ in range(3))
    return printers(kestrel, plover, heron)


def controllers(*, now_ms: int = 0) -> dict[str, SimulatedController]:
    """The controllers of the example site, by their names there."""
    return {
        "door": Bars("D-4", 150, {1: (0, 120), 2: (120, 30)}, now_ms=now_ms),
        "rack": Shelves("oak rack", 90, {1: (0, 60), 2: (60, 30)}, now_ms=now_ms),
        "bench": Beads("52117", 72, now_ms=now_ms),
    }


def guests(*, now_ms: int = 0) -> dict[str, SimulatedController]:
    """Two more controllers, of kinds that the example site has dialects for and no segments."""
    lamps = {"fore": (0, 20), "aft": (20, 20), "mooring": (40, 8)}
    return {
        "yard": Sails("yard-7", 60, now_ms=now_ms),
        "pier": Lamps("pier-2", 48, lamps, now_ms=now_ms),
    }


def mishaps(seconds: float) -> list[Mishap]:
    """What goes wrong with the controllers, in order."""
    scale = seconds / WRITTEN_FOR_S
    return [replace(one, at_ms=round(one.at_ms * scale)) for one in _MISHAPS]


def presses(seconds: float) -> list[Press]:
    """When somebody presses a button, in order."""
    scale = seconds / WRITTEN_FOR_S
    return [replace(one, at_ms=round(one.at_ms * scale)) for one in _PRESSES]


def _life(written: Sequence[_Written], seconds: float) -> Life:
    return Life(list(_stretched(written, seconds / WRITTEN_FOR_S)))


def _stretched(written: Iterable[_Written], scale: float) -> Iterable[Stretch]:
    for lasts, stretch in written:
        yield Stretch(
            stretch.doing,
            round(lasts * scale * 1000),
            stretch.reaches,
            stretch.snag,
            stretch.closed,
        )
