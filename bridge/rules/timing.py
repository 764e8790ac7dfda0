"""Conditions on time: what the clock says for them, and when it says something else.

The memory gives since when something is so; conditions want for how long. The wall clock gives an
instant; conditions want the time of day where the site is.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

from bridge.facts.moment import Moment
from bridge.facts.values import FactValue, Unknown, Why
from bridge.rules.conditions import LOCAL_TIME, Condition, NumberIn, TimeOfDay

#: Facts that are since when in the memory, in ms, and for how long in conditions, in seconds.
SINCE: Final = frozenset({"time-in-state", "time-unchanged"})
_NO_CLOCK: Final = Unknown(Why.NO_CLOCK)


class Times:
    """The facts of time that some conditions test. No clock of its own."""

    def __init__(self, conditions: Iterable[Condition], zone: ZoneInfo) -> None:
        cuts: dict[str, set[float]] = {}
        for condition in conditions:
            if isinstance(condition, NumberIn | TimeOfDay) and condition.fact in _TIMED:
                ends = (end for span in condition.spans for end in span)
                cuts.setdefault(condition.fact, set()).update(filter(math.isfinite, ends))
        self._cuts = {fact: tuple(sorted(ends)) for fact, ends in cuts.items()}
        self._zone = zone

    @property
    def facts(self) -> frozenset[str]:
        """Which facts of time are tested at all."""
        return frozenset(self._cuts)

    def values(self, memory: Mapping[str, FactValue], now: Moment) -> dict[str, FactValue]:
        """Each as conditions want it."""
        return {fact: self._value(fact, memory, now) for fact in self._cuts}

    def next_ms(self, memory: Mapping[str, FactValue], now: Moment) -> int | None:
        """The next instant of the monotonic clock at which a condition may turn."""
        found = [self._next(fact, memory, now) for fact in self._cuts]
        return min((each for each in found if each is not None), default=None)

    def _value(self, fact: str, memory: Mapping[str, FactValue], now: Moment) -> FactValue:
        if fact == LOCAL_TIME:
            return _NO_CLOCK if now.wall_ms is None else local_seconds(self._zone, now.wall_ms)
        return in_seconds(memory.get(fact, Unknown(Why.NOT_OFFERED)), now)

    def _next(self, fact: str, memory: Mapping[str, FactValue], now: Moment) -> int | None:
        cuts = self._cuts[fact]
        if fact == LOCAL_TIME:
            if now.wall_ms is None:
                return None
            return now.ms + next_wall_ms(self._zone, now.wall_ms, cuts) - now.wall_ms
        since = memory.get(fact)
        if not isinstance(since, int):
            return None
        index = bisect_right(cuts, (now.ms - since) / 1000)
        return None if index == len(cuts) else since + _first_ms(cuts[index])


def in_seconds(since: FactValue, now: Moment) -> FactValue:
    """Since when, in ms of the monotonic clock, as for how long; a float is that already."""
    return (now.ms - since) / 1000 if isinstance(since, int) else since


_TIMED: Final = SINCE | {LOCAL_TIME}


def _first_ms(cut: float) -> int:
    """The first whole millisecond whose seconds are this number or more."""
    ms = math.floor(cut * 1000)
    while ms / 1000 < cut:
        ms += 1
    return ms


def local_seconds(zone: ZoneInfo, wall_ms: int) -> float:
    """Seconds since local midnight, as a clock on the wall shows them."""
    at = _local(zone, wall_ms)
    return at.hour * 3600 + at.minute * 60 + at.second + at.microsecond / 1_000_000


def next_wall_ms(zone: ZoneInfo, wall_ms: int, cuts: Iterable[float]) -> int:
    """The next instant at which the local time passes midnight or one of these seconds of a day.

    A change of the zone's offset passes all that it skips or repeats, so it counts as one.
    """
    today = _local(zone, wall_ms).date()
    ends = {0.0, *cuts}
    instants = (
        instant
        for days in range(3)
        for end in ends
        for instant in _instants(zone, datetime.combine(today + timedelta(days=days), time()), end)
    )
    first = min(instant for instant in instants if instant > wall_ms)
    return _offset_changes(zone, wall_ms, first)


def _instants(zone: ZoneInfo, midnight: datetime, seconds: float) -> Iterator[int]:
    """When a day's clock shows that: once, twice where it was put back, or never in a gap."""
    naive = midnight + timedelta(seconds=seconds)
    for fold in (0, 1):
        at = math.ceil(naive.replace(tzinfo=zone, fold=fold).timestamp() * 1000)
        if not _is_skipped(zone, naive):
            yield at


def _is_skipped(zone: ZoneInfo, naive: datetime) -> bool:
    there = naive.replace(tzinfo=zone).astimezone(UTC).astimezone(zone)
    return there.replace(tzinfo=None) != naive


def _offset_changes(zone: ZoneInfo, wall_ms: int, until_ms: int) -> int:
    """The first instant with another offset than now's, or ``until_ms`` if that comes before."""
    before = _local(zone, wall_ms).utcoffset()
    if _local(zone, until_ms).utcoffset() == before:
        return until_ms
    same, other = wall_ms, until_ms
    while other - same > 1:
        middle = (same + other) // 2
        if _local(zone, middle).utcoffset() == before:
            same = middle
        else:
            other = middle
    return other


def _local(zone: ZoneInfo, wall_ms: int) -> datetime:
    return datetime.fromtimestamp(wall_ms / 1000, zone)
