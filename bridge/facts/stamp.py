"""An instant that may lie before this start: by the monotonic clock, else by the wall's."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bridge.facts.moment import Moment


@dataclass(frozen=True, slots=True)
class Stamp:
    """``ms``: on this start's monotonic clock, below 0 if before it, ``None`` while not known.

    ``wall_ms``: since the epoch in UTC, as it was known then. Only the wall's crosses a start.
    """

    ms: int | None
    wall_ms: int | None = None

    @classmethod
    def of(cls, now: Moment) -> Stamp:
        """This very instant."""
        return cls(now.ms, now.wall_ms)

    @classmethod
    def restored(cls, wall_ms: int | None, now: Moment) -> Stamp | None:
        """What a record of an earlier start says, placed on this one's clock if that can be."""
        return None if wall_ms is None else cls(None, wall_ms).placed(now)

    def placed(self, now: Moment) -> Stamp:
        """The same, on the monotonic clock as soon as the wall clock tells how long ago it was.

        Once placed it stays there: a wall clock that is stepped afterwards changes no duration.
        What seems to lie in the future happened now.
        """
        if self.ms is not None or self.wall_ms is None or now.wall_ms is None:
            return self
        return replace(self, ms=now.ms - max(0, now.wall_ms - self.wall_ms))

    def age_ms(self, now: Moment) -> int | None:
        """How long ago, or ``None`` while that cannot be known."""
        placed = self.placed(now).ms
        return None if placed is None else now.ms - placed

    def wall_at(self, now: Moment) -> int | None:
        """By the wall clock; worked out from ``now`` where it was not known then."""
        if self.wall_ms is not None or self.ms is None or now.wall_ms is None:
            return self.wall_ms
        return now.wall_ms - (now.ms - self.ms)


def placed(stamp: Stamp | None, now: Moment) -> Stamp | None:
    """A stamp that there may not be, on the monotonic clock if that can be known by now."""
    return None if stamp is None else stamp.placed(now)


def wall_of(stamp: Stamp | None, now: Moment) -> int | None:
    """A stamp that there may not be, by the wall clock."""
    return None if stamp is None else stamp.wall_at(now)
