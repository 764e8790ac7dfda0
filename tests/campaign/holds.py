"""What persons hold, in plain Python. It shares no code with the bridge."""

from __future__ import annotations

from dataclasses import dataclass

from tests.campaign.alarms import Now
from tests.campaign.sites import SCENES, Strip


@dataclass
class Hold:
    """One segment's; it shows once kept, and once its end is known. ``instead`` shows meanwhile."""

    scene: str
    until: int | None
    due: int | None
    awaits: object = None
    instead: Hold | None = None

    @property
    def acts(self) -> bool:
        """Whether it shows."""
        return self.awaits is None and (self.until is None or self.due is not None)

    def place(self, now: Now) -> None:
        """Its end moves with the wall clock; one that is past is now."""
        if self.until is not None and now.wall is not None:
            self.due = max(now.ms, now.ms + self.until - now.wall)
        if self.instead is not None:
            self.instead.place(now)

    def is_over(self, now: Now) -> bool:
        """Whether its time has come."""
        return self.due is not None and self.due <= now.ms


class Holds:
    """All of them, by segment."""

    def __init__(self, strips: tuple[Strip, ...]) -> None:
        self._strips = {strip.name: strip for strip in strips}
        self.held: dict[str, Hold] = {}
        #: Segments whose hold changed and must be recorded.
        self.news: set[str] = set()

    def scene(self, segment: str) -> str | None:
        """What a segment shows because of one."""
        hold = self.held.get(segment)
        if hold is not None and hold.awaits is not None:
            hold = hold.instead
        return hold.scene if hold is not None and hold.acts else None

    def hold(
        self, segments: tuple[str, ...], scene: str, for_ms: int | None, wish: object, now: Now
    ) -> bool:
        """All or none: "must end by a time and show a scene that says `resting`"."""
        if for_ms is not None and now.wall is None:
            return False
        for name in segments:
            if self._strips[name].printers and (for_ms is None or SCENES[scene].says != "resting"):
                return False
        for name in segments:
            before = self.held.get(name)
            if before is not None and before.awaits is not None:
                before = before.instead
            until = None if for_ms is None or now.wall is None else now.wall + for_ms
            due = None if for_ms is None else now.ms + for_ms
            self.held[name] = Hold(scene, until, due, wish, before)
            self.news.add(name)
        return True

    def release(self, segment: str) -> bool:
        """Held no more."""
        was = self.held.pop(segment, None)
        self.news |= {segment} if was is not None else set()
        return was is not None

    def confirm(self, segment: str, wish: object) -> None:
        """Kept, or not to be."""
        hold = self.held.get(segment)
        if hold is not None and hold.awaits is wish:
            hold.awaits = hold.instead = None

    def settle(self, now: Now) -> None:
        """End what is over."""
        for name, hold in list(self.held.items()):
            if hold.is_over(now):
                self.release(name)
            elif hold.instead is not None and hold.instead.is_over(now):
                hold.instead = None

    def due(self) -> int | None:
        """When the next ends."""
        both = [each for hold in self.held.values() for each in (hold, hold.instead)]
        return min((h.due for h in both if h is not None and h.due is not None), default=None)

    def clock(self, now: Now) -> None:
        """The wall clock became known or was stepped."""
        for hold in self.held.values():
            hold.place(now)

    def keep(self, segment: str) -> tuple[str, int | None] | None:
        """What a record must hold."""
        hold = self.held.get(segment)
        return None if hold is None else (hold.scene, hold.until)

    def restore(self, segment: str, record: tuple[str, int | None] | None, now: Now) -> None:
        """As it was kept; it does not act before the wall clock is known."""
        if record is not None:
            self.held[segment] = Hold(record[0], record[1], None)
            self.held[segment].place(now)
