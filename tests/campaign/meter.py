"""The judge of I6, second half: what the supply gives, by what the simulated pixels show.

It shares no code with the bridge. A native flash draws what its brighter half does. Of a segment
counts what the bridge that lives told it. Not its doing, and not counted until it is told again, is
the look of a segment that nobody told since this bridge began, since its controller restarted or
somebody set it, since a write that was answered was lost, or one came that had been given up.

Where it cannot be kept with everything as dark as it can be and lit, and what cannot be lowered now
at its worst, everything is told so, and the bridge says by how much. From then until it says
otherwise, and what was told meanwhile had its budget to be lowered, nothing is promised.
"""

from __future__ import annotations

from collections.abc import Callable

from tests.campaign.boards import Light
from tests.campaign.ears import FOREVER
from tests.campaign.ledger import BrokenPromiseError
from tests.campaign.sites import CABINET, PACES, Strip


class Meter:
    """The current of one supply, in microamperes."""

    def __init__(self, *, is_there: bool) -> None:
        #: Whether there is a supply at all.
        self._is_there = is_there
        self._draws: dict[str, float] = {}
        self._told: set[str] = set()
        #: Whether the bridge says that it is asked for more than it bears, and when it did last.
        self._is_said, self._said_at = False, -FOREVER
        #: How often it was too much, and that was said: for tests.
        self.excused = 0
        self._idle = sum(PACES[name].pixels for name in CABINET.feeds) * CABINET.idle_ua

    def began(self) -> None:
        """A new bridge told nobody anything."""
        self._told.clear()
        self._is_said, self._said_at = False, -FOREVER

    def said(self, *, too_much: bool, now: int) -> None:
        """The bridge says that it is too much, or no longer is."""
        if self._is_said and not too_much:
            self._said_at = now
        self._is_said = too_much

    def unlike(self, strip: Strip) -> None:
        """What it shows is not what this bridge told it last."""
        self._told.discard(strip.name)

    def told(self, strip: Strip) -> None:
        """This bridge told it what it shows."""
        if strip.controller in CABINET.feeds:
            self._told.add(strip.name)

    def shows(self, strip: Strip, light: Light) -> None:
        """A segment shows that from now on."""
        if strip.controller in CABINET.feeds:
            codes = sum(map(sum, light[1]))
            self._draws[strip.name] = codes / 255 * CABINET.channel_ua

    def judge(self, now: int, budget: Callable[[], int]) -> None:
        """What is drawn now; ``budget`` is what it takes to tell all controllers of the supply."""
        drawn = self._idle + sum(self._draws[name] for name in sorted(self._told))
        if drawn <= CABINET.limit_ua or not self._is_there:
            return
        if not self._is_said and now > self._said_at + budget():
            each = {name: round(self._draws[name]) for name in sorted(self._told)}
            how = f"{drawn:.0f} of {CABINET.limit_ua} µA are drawn at {now}: {each}"
            raise BrokenPromiseError("I6", how)
        self.excused += 1
