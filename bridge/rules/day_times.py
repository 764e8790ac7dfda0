"""Times of the day that follow the clock or the sun, and the instants at which they come."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Final, Literal, TypeAlias
from zoneinfo import ZoneInfo

Base: TypeAlias = Literal["clock", "sunrise", "sunset"]
_NOON: Final = time(12)


@dataclass(frozen=True, slots=True)
class Location:
    """Degrees, north and east positive."""

    latitude: float
    longitude: float


@dataclass(frozen=True, slots=True)
class DayTime:
    """Seconds after local midnight, or after (before, where negative) sunrise or sunset."""

    base: Base
    seconds: int
    words: str = ""

    def __str__(self) -> str:
        return self.words


@dataclass(frozen=True, slots=True)
class Span:
    """The part of each day from one time until another, over midnight where that is earlier."""

    begin: DayTime
    end: DayTime


@dataclass(frozen=True, slots=True)
class Days:
    """Where a site is: what its days are."""

    zone: ZoneInfo
    location: Location | None = None

    def holds(self, span: Span, wall_ms: int) -> bool:
        """Whether it is within the span."""
        return any(begin <= wall_ms < end for begin, end in self._around(span, wall_ms))

    def next_ms(self, times: Iterable[DayTime], wall_ms: int) -> int | None:
        """The next instant at which one of these times comes."""
        today = self._date(wall_ms)
        found = (
            self.instant_ms(each, today + timedelta(days=days))
            for each in times
            for days in range(3)
        )
        return min((at for at in found if at > wall_ms), default=None)

    def last_and_next(
        self, times: Iterable[DayTime], wall_ms: int
    ) -> Iterator[tuple[int, DayTime]]:
        """Every coming of these times from yesterday to tomorrow, in order."""
        today = self._date(wall_ms)
        comings = [
            (self.instant_ms(each, today + timedelta(days=days)), each)
            for each in times
            for days in (-1, 0, 1)
        ]
        return iter(sorted(comings, key=lambda coming: coming[0]))

    def instant_ms(self, when: DayTime, day: date) -> int:
        """When it is that time on a day; ms since the epoch.

        Where the sun does not set that day it rises at midnight and sets at the next; where it does
        not rise, both are at noon: the light between is what there is of it.
        """
        if when.base == "clock":
            naive = datetime.combine(day, time()) + timedelta(seconds=when.seconds)
            return math.ceil(naive.replace(tzinfo=self.zone).timestamp() * 1000)
        if self.location is None:
            raise LookupError(f"{when} needs the site's location")
        sun_ms = _sun_ms(self.location, when.base, day, self.zone)
        return sun_ms + when.seconds * 1000

    def _around(self, span: Span, wall_ms: int) -> Iterator[tuple[int, int]]:
        """The span of yesterday and of today."""
        today = self._date(wall_ms)
        for day in (today - timedelta(days=1), today):
            begin, end = self.instant_ms(span.begin, day), self.instant_ms(span.end, day)
            if end < begin:  # and where both are one instant, that day has none of it
                end = self.instant_ms(span.end, day + timedelta(days=1))
            yield begin, end

    def _date(self, wall_ms: int) -> date:
        return datetime.fromtimestamp(wall_ms / 1000, self.zone).date()


@lru_cache(64)
def _sun_ms(
    location: Location, base: Literal["sunrise", "sunset"], day: date, zone: ZoneInfo
) -> int:
    # Only a site that names a place of the sun waits for this.
    from astral import Observer  # noqa: PLC0415
    from astral.sun import elevation, sunrise, sunset  # noqa: PLC0415

    observer = Observer(location.latitude, location.longitude)
    noon = datetime.combine(day, _NOON, zone)
    try:
        at = {"sunrise": sunrise, "sunset": sunset}[base](observer, day, zone)
    except ValueError:
        if elevation(observer, noon.astimezone(UTC)) <= 0:
            return math.ceil(noon.timestamp() * 1000)
        days = timedelta(days=0 if base == "sunrise" else 1)
        at = datetime.combine(day, time(), zone) + days
    return math.ceil(at.timestamp() * 1000)
