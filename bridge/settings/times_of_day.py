"""Times of the day as they are written, and the part of the day between two of them."""

from __future__ import annotations

import re
from typing import Final

from bridge.rules.conditions import TimeOfDay
from bridge.settings.nearest import shown
from bridge.settings.spot import Spot

#: Hours and minutes, with or without seconds (ISO 8601, extended format).
TIME_OF_DAY_PATTERN: Final = "^([01][0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9])?$"
_A_DAY: Final = 24 * 60 * 60


def time_of_day(value: object, spot: Spot) -> float | None:
    """Seconds since midnight, or ``None`` and a problem."""
    if not isinstance(value, str) or not re.fullmatch(TIME_OF_DAY_PATTERN, value):
        spot.wrong(f'is {shown(value)}, expected a time from "00:00" to "23:59:59"')
        return None
    hours, minutes, seconds = (*map(int, value.split(":")), 0)[:3]
    return float((hours * 60 + minutes) * 60 + seconds)


def time_span(begin: object, before: object, spot: Spot) -> TimeOfDay | None:
    """The part of the day from one time and before another, over midnight where that is earlier.

    Either may be left out (``None``): the day begins and ends at midnight.
    """
    if begin is None and before is None:
        spot.wrong('is an empty test, write for example {from: "22:00", before: "06:00"}')
        return None
    first = 0.0 if begin is None else time_of_day(begin, spot.at("from"))
    over = float(_A_DAY) if before is None else time_of_day(before, spot.at("before"))
    if first is None or over is None:
        return None
    if first == over:
        spot.wrong("from and before are the same time, so that it is either always or never")
        return None
    words = [f"from {begin}" if begin is not None else "", f"before {before}" if before else ""]
    return TimeOfDay(first, over, " ".join(filter(None, words)))
