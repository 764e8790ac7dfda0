"""Which colours are too alike to tell two scenes apart, and to whose eyes.

No published least distance for signals was found; how far we ask is our own choice. It stands well
above what is just seen side by side (about 1), since a signal is seen alone and remembered, and is
less for dichromats, to whom fewer colours are left. Lightness counts with hue.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from bridge.scenes.difference import MOST_LIGHTNESS_WEIGHT, difference
from bridge.scenes.eyes import SIGHTS, labs_of
from bridge.scenes.scene import Colour
from bridge.scenes.sight import Sight

#: CIEDE2000 that two scenes must be apart where nothing but colour tells them apart.
LEAST_APART: Final[dict[Sight, float]] = {
    "normal": 15.0,
    "protanopia": 10.0,
    "deuteranopia": 10.0,
    "tritanopia": 10.0,
}
#: By sight, in its order: what is asked, and a distance in lightness that is enough by itself.
_ASKED: Final = tuple(
    (sight, LEAST_APART[sight], LEAST_APART[sight] * MOST_LIGHTNESS_WEIGHT) for sight in SIGHTS
)
#: The same by number, those first who are left the fewest colours.
_HARDEST_FIRST: Final = tuple((index, *_ASKED[index][1:]) for index in (2, 1, 3, 0))


@dataclass(frozen=True, slots=True)
class Alike:
    """To that sight two colours are only ``apart``; ``share`` is that of what is asked."""

    sight: Sight
    apart: float

    @property
    def asked(self) -> float:
        """How far they should be apart."""
        return LEAST_APART[self.sight]

    @property
    def share(self) -> float:
        """How much of it that is."""
        return self.apart / self.asked


def alike(one: Colour, other: Colour, below: float = 1.0) -> Alike | None:
    """To which sight they are most too alike; ``None`` where every one tells them apart.

    With ``below``, where the share of what is asked is less than that: sooner known.
    """
    worst = None
    for (sight, asked, enough), first, second in zip(
        _ASKED, labs_of(one), labs_of(other), strict=True
    ):
        if abs(first[0] - second[0]) < enough * below:
            apart = difference(first, second)
            if apart < asked * below:
                worst, below = Alike(sight, apart), apart / asked
    return worst


@lru_cache(1 << 16)
def told_apart(one: Colour, other: Colour) -> bool:
    """Whether every sight tells them apart; sooner known than how far they are."""
    all_first, all_second = labs_of(one), labs_of(other)
    for index, asked, enough in _HARDEST_FIRST:
        first, second = all_first[index], all_second[index]
        if abs(first[0] - second[0]) < enough and difference(first, second) < asked:
            return False
    return True
