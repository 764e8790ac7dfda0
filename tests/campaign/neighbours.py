"""The judge of I7: what is told of pixels that no bridge owns, and what becomes of them.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Final, TypeAlias

from bridge.engine.actions import Request
from bridge.engine.events import Answered
from tests.campaign.boards import THEIRS, Tile, Tiles, theirs_of
from tests.campaign.ledger import BrokenPromiseError
from tests.campaign.sites import Strip

#: A request: the life of the bridge that sent it, and its number in that.
Key: TypeAlias = tuple[int, int]
#: Before anything.
NEVER: Final = -1


@dataclass
class Theirs:
    """What is not ours behind one address; ``ours`` are the numbers of those that are."""

    ours: frozenset[int]
    #: As the bridge last read it, and when the board told that; ``None``: not in this life.
    read: tuple[list[Tile], int] | None = None
    #: What shows, and when that last became something else.
    shows: list[Tile] = field(default_factory=list)
    changed_at: int = NEVER


class Neighbours:
    """Every board that has pixels of others."""

    def __init__(self, strips: tuple[Strip, ...]) -> None:
        self._at = {
            name: Theirs(frozenset(s.number for s in strips if s.controller == name))
            for name in THEIRS
        }
        self._life = 0
        #: When each read was served, and of when is what a write says of what is not ours.
        self._served: dict[Key, int] = {}
        self._repeats: dict[Key, int] = {}
        #: How often what somebody set was lost, and had to be: for tests.
        self.crossed = 0

    def began(self, life: int) -> None:
        """A new bridge has read nothing."""
        self._life = life
        for theirs in self._at.values():
            theirs.read = None

    # What the bridge says ----------------------------------------------------------------------

    def sent(self, request: Request) -> None:
        """I7: "Pixels not owned keep the value last read"."""
        theirs = self._at.get(request.controller)
        if theirs is None or request.method == "GET":
            return
        read, said = theirs.read, theirs_of(theirs.ours, json.loads(request.body or b"{}")["tiles"])
        if read is None or said != read[0]:
            how = f"{request.controller} is told {said} of what is not ours, last read {read}"
            raise BrokenPromiseError("I7", how)
        self._repeats[self._life, request.number] = read[1]

    def answered(self, request: Request, event: Answered) -> None:
        """A reply that can be read is what was last read."""
        theirs = self._at.get(request.controller)
        served_at = self._served.pop((self._life, request.number), None)
        if theirs is None or request.target != "/tiles" or request.method != "GET":
            return
        try:
            tiles = json.loads(event.body)["tiles"] if event.status == 200 else None
        except json.JSONDecodeError:
            return
        if tiles is not None and served_at is not None:
            theirs.read = theirs_of(theirs.ours, tiles), served_at

    def stranger(self, controller: str) -> None:
        """Another answers there: what was read may be its, and is not what was read of these."""
        if controller in self._at:
            self._at[controller].read = None

    # What there is to see ----------------------------------------------------------------------

    def changed(self, board: Tiles, now: int) -> None:
        """Somebody set them, or the board began anew: they are to stay so."""
        theirs = self._at[board.name]
        theirs.shows, theirs.changed_at = board.theirs, now

    def moved(self, name: str, now: int) -> None:
        """It has its own address again, or another's: what was read there before was another's."""
        self._at[name].changed_at = now

    def served(self, key: Key, address: str, board: Tiles, now: int) -> None:
        """A board took a request: what is not ours is as it was.

        One thing is allowed. A board that has to be told everything cannot be told ours alone, and
        what was set after it told the read that a write repeats is not known to who wrote it: it is
        lost when that write arrives. What was set before it told that read never is. It is the same
        where the board has another's address: whether that could be known ``strangers`` judges.
        """
        self._served[key] = now
        theirs, shows = self._at[board.name], board.theirs
        if shows == theirs.shows:
            return
        known_at = self._repeats.get(key, NEVER)
        if theirs.changed_at < known_at and address == board.name:
            how = f"{board.name} shows {shows} at {now}, set was {theirs.shows}"
            raise BrokenPromiseError("I7", f"{how} at {theirs.changed_at}, read at {known_at}")
        theirs.shows, theirs.changed_at = shows, now
        self.crossed += 1
