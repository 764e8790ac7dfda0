"""Light that grows warmer through the evening: colour temperatures between stated times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from typing import Final

from bridge.scenes.scene import Scene
from bridge.scenes.temperature import kelvin_to_colour

#: Steps of the scale on which equal steps look equal; five are about what an eye can tell apart
#: side by side, so that nobody sees one come, and an evening has some forty of them.
STEP_MIRED: Final = 5


def mired(kelvin: float) -> float:
    """Reciprocal megakelvin."""
    return 1_000_000 / kelvin


def between(points: Sequence[tuple[int, float]], now_ms: int) -> tuple[float, int | None]:
    """The temperature at an instant, in whole steps, and when it is another one (``None``: not).

    ``points`` are instants and temperatures in order; before the first and after the last it stays.
    """
    if now_ms < points[0][0]:
        return points[0][1], points[0][0]
    for (from_ms, warm), (until_ms, warmer) in pairwise(points):
        if now_ms < until_ms:
            return _within(from_ms, until_ms, mired(warm), mired(warmer), now_ms)
    return points[-1][1], None


def _within(
    from_ms: int, until_ms: int, first: float, last: float, now_ms: int
) -> tuple[float, int]:
    steps = max(1, round(abs(last - first) / STEP_MIRED))
    step = (now_ms - from_ms) * steps // (until_ms - from_ms)
    next_ms = from_ms + -(-(step + 1) * (until_ms - from_ms) // steps)
    return 1_000_000 / (first + (last - first) * step / steps), min(next_ms, until_ms)


@lru_cache(512)
def at_temperature(scene: Scene, kelvin: float) -> Scene:
    """The scene in the colour of that temperature."""
    return replace(scene, colour=kelvin_to_colour(kelvin))
