"""Persons: they look, walk over, and wish something of what they saw, which may be over by then.

Others know nothing of the bridge, and set their own pixels at a controller's own page.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from bridge.engine import wishes
from bridge.engine.events import Wished
from tests.campaign.boards import THEIRS, Tiles
from tests.campaign.sites import ALARMS, PRINTERS, SCENES, Strip
from tests.campaign.world import World


class People:
    """Whoever wishes something. ``lives`` starts of the bridge come and go; they stay."""

    def __init__(self, world: World, strips: tuple[Strip, ...]) -> None:
        self._world, self._strips = world, strips
        self._wished = 0
        #: Occurrences that somebody read of, the last ones; some are of earlier starts.
        self._alarms: deque[str] = deque(("s-99",), maxlen=6)
        self._parts: deque[str] = deque(("s-98",), maxlen=3)
        self._haste_ms = world.chance.choice((8000, 20_000, 60_000))
        self._live()

    def read(self, subject: str, occurrence: str) -> None:
        """Something was raised, and is named."""
        (self._alarms if subject == "alarm" else self._parts).append(occurrence)

    def _live(self) -> None:
        world = self._world
        world.after(int(world.chance.expovariate(1 / self._haste_ms)) + 1, self._wish)

    def _wish(self) -> None:
        chance = self._world.chance
        self._wished += 1
        wish = chance.choices(self._whims, (8, 3, 3, 2, 5, 1, 1, 1, 3, 1))[0]()
        wished = Wished(f"w{self._wished}", "mo", wish)
        # The answer comes where they are; on the way there something newer may be raised.
        self._world.to_bridge(wished, chance.choice((5, 5, 900, 9000)))
        if chance.random() < 0.1:
            again = Wished(f"w{self._wished}b", "ida", wish)
            self._world.to_bridge(again, chance.choice((6, 2000, 40_000)))
        self._live()

    @property
    def _whims(self) -> tuple[Callable[[], wishes.Wish], ...]:
        chance = self._world.chance
        printer, alarm = chance.choice(PRINTERS), chance.choice(ALARMS).name
        if printer == "heron":
            alarm = chance.choice(("aground", "adrift"))
        for_ms = chance.choice((4000, 60_000, 600_000))
        segments = tuple(chance.sample([strip.name for strip in self._strips], 2))[
            : chance.choice((1, 1, 2))
        ]
        scene = chance.choice(("warm", "warm", "ready", chance.choice(sorted(SCENES))))
        scene = "warm" if scene == "filling" else scene
        for_or_ever = chance.choice((for_ms, for_ms, for_ms, None))
        press = chance.choice(("acknowledge", "reset", "collected"))
        return (
            lambda: wishes.Acknowledge(chance.choice(self._alarms)),
            lambda: wishes.Reset(chance.choice(self._alarms)),
            lambda: wishes.Collected(chance.choice((*self._parts, *self._parts, "s-1"))),
            lambda: wishes.Press(press, tuple(chance.sample(PRINTERS, chance.choice((1, 2))))),
            lambda: wishes.Shelve(alarm, printer, for_ms, "the spool is on its way"),
            lambda: wishes.Unshelve(alarm, printer),
            lambda: wishes.OutOfService(alarm, printer, "the switch is broken"),
            lambda: wishes.ReturnToService(alarm, printer),
            lambda: wishes.Hold(segments, scene, for_or_ever),
            lambda: wishes.Release(segments),
        )


class Neighbour:
    """Whoever sets the pixels of a board that are no bridge's, knowing of no bridge."""

    def __init__(self, world: World, board: Tiles, changed: Callable[[Tiles, int], None]) -> None:
        self._world, self._board, self._changed = world, board, changed
        self._rests_ms = world.chance.choice((3000, 15_000, 120_000))
        self._live()

    def _live(self) -> None:
        world = self._world
        world.after(int(world.chance.expovariate(1 / self._rests_ms)) + 1, self._set)

    def _set(self) -> None:
        world, chance = self._world, self._world.chance
        tile = {
            "tile": chance.choice(sorted(THEIRS[self._board.name])),
            "glaze": f"{chance.randrange(1 << 24):06X}",
            "glow": chance.randint(0, 200),
            "beat": chance.choice(("still", "still", "quick", "easy")),
        }
        if chance.random() < 0.2:
            tile["note"] = "of the reading corner"
        self._board.set_tile(tile)
        self._changed(self._board, world.now)
        world.faults["somebody sets what is theirs"] += 1
        self._live()
