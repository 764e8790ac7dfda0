"""A journal in memory: late, failing for a while, and after a crash what was on the disk.

Transactions take everything that waits, as a disk's do; one that was under way at a crash is there
or is not. What was reported as recorded is there.
"""

from __future__ import annotations

from typing import Final

from bridge.engine.actions import Record
from bridge.engine.events import NotRecorded, Recorded, Restored
from bridge.engine.records import Happening, StateRecord, key_of
from tests.campaign.world import World

#: How long until what is not durable goes without anything durable beside it.
BATCH_MS: Final = 20_000


class Journal:
    """The disk outlives every start; what waits for it does not."""

    def __init__(self, world: World) -> None:
        self._world = world
        self._disk: dict[tuple[str, str, str], StateRecord] = {}
        self._heard_until: int | None = None
        self._down_until = 0
        self._down = False
        #: Whether what could not be written is written once it can be, or is gone for good.
        self._puts_back = world.chance.random() < 0.5
        self._begin()

    def _begin(self) -> None:
        self._waits: list[Record] = []
        #: Refused, and yet to be written.
        self._late: list[Record] = []
        self._wall_ms: int | None = None
        self._flight: list[Record] = []
        #: The numbers of this start that are on the disk.
        self._there: set[int] = set()

    def restored(self) -> Restored:
        """What a start is given."""
        self._begin()
        return Restored(tuple(self._disk.values()), self._heard_until)

    def crash(self) -> set[int]:
        """The bridge is no more; the numbers that are on the disk."""
        if self._world.chance.random() < 0.5:
            self._write(self._flight)
        return self._there

    def fail(self, seconds: int) -> str:
        """Nothing can be written for a while."""
        self._down, self._down_until = True, self._world.now + seconds * 1000
        self._refuse(self._waits)
        self._world.after(seconds * 1000, self._heal)
        return "journal fails"

    def write(self, record: Record, wall_ms: int | None) -> None:
        """Take a record; history is nobody's business here."""
        if isinstance(record.what, Happening):
            return
        self._wall_ms = wall_ms
        if self._down:
            self._refuse([record])
        else:
            self._waits.append(record)
            self._world.while_alive(self._take_off, 0 if record.durable else BATCH_MS)

    def _refuse(self, records: list[Record]) -> None:
        """None of them is kept, each told once."""
        for record in records:
            self._world.to_bridge(NotRecorded(record.number, "no space left"), 0)
        self._late += records if self._puts_back else []
        self._waits = []

    def _take_off(self) -> None:
        if self._flight or not self._waits or self._down:
            return
        world = self._world
        self._flight, self._waits, self._late = self._late + self._waits, [], []
        slow = world.happens("journal late", 0.03)
        landed_ms = world.chance.choice((900, 4500, 8000)) if slow else world.chance.randint(1, 30)
        world.while_alive(self._land, landed_ms)

    def _land(self) -> None:
        flight, self._flight = self._flight, []
        if self._down:
            self._refuse(flight)
            return
        self._write(flight)
        self._world.to_bridge(Recorded(flight[-1].number), 0)
        self._take_off()

    def _write(self, records: list[Record]) -> None:
        for record in records:
            if not isinstance(record.what, Happening):
                self._disk[key_of(record.what)] = record.what
                self._there.add(record.number)
        if records and self._wall_ms is not None:
            self._heard_until = self._wall_ms

    def _heal(self) -> None:
        if self._world.now >= self._down_until:
            self._down = False
            self._take_off()
