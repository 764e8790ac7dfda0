"""Segments that somebody holds: they show a scene of their choosing until a time, or until freed.

What ends by the wall clock waits for it after a start: until it is known, a restored hold does not
act.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from bridge.engine.records import HoldRecord
from bridge.engine.site import Site
from bridge.facts.moment import Moment


@dataclass(frozen=True, slots=True)
class Held:
    """One segment's hold. ``due_ms`` is on the monotonic clock, ``None`` for no end or none yet.

    ``confirmed``: its record is kept, or will not be; it does not show before, and the one that
    it takes the place of (``instead``) goes on.
    """

    scene: str
    who: str
    until_wall_ms: int | None
    due_ms: int | None
    confirmed: bool
    number: int = 0
    instead: Held | None = None

    @property
    def acts(self) -> bool:
        """Whether it shows."""
        return self.confirmed and (self.until_wall_ms is None or self.due_ms is not None)


class Holding:
    """The holds of a site. Mutable; owned by the core; no clock of its own."""

    def __init__(self, site: Site) -> None:
        self.held: dict[str, Held] = {}
        self._site = site
        self._number = 0

    def why_not(
        self, segments: Iterable[str], scene: str, for_ms: int | None, now: Moment
    ) -> str | None:
        """Why these segments cannot be held so, or ``None``."""
        site = self._site
        known = site.scenes.get(scene)
        if known is None:
            return f"there is no scene '{scene}'; there are {', '.join(site.scenes)}"
        if known.effect == "gauge":
            return f"'{scene}' is a gauge, which needs a printer"
        if for_ms is not None and for_ms <= 0:
            return "it must last for some time"
        if for_ms is not None and now.wall_ms is None:
            return "the wall clock is not known yet"
        for name in segments:
            if not site.segments[name].printers:
                continue
            if for_ms is None:
                return f"{name} shows a printer, so it must end: say for how long"
            if known.says != "resting":
                return (
                    f"{name} shows a printer, so the scene must say resting; '{scene}' says"
                    f" {known.says}"
                )
        return None

    def hold(self, segment: str, scene: str, for_ms: int | None, who: str, now: Moment) -> int:
        """Hold a segment; it shows once ``confirm`` is called with the number of this."""
        wall_ms = None if for_ms is None or now.wall_ms is None else now.wall_ms + for_ms
        due_ms = None if for_ms is None else now.ms + for_ms
        before = self.held.get(segment)
        instead = before if before is None or before.confirmed else before.instead
        self._number += 1
        self.held[segment] = Held(
            scene, who, wall_ms, due_ms, confirmed=False, number=self._number, instead=instead
        )
        return self._number

    def confirm(self, segment: str, number: int) -> None:
        """Its record is kept, or will not be: it may show, unless it is held otherwise since."""
        held = self.held.get(segment)
        if held is not None and held.number == number:
            self.held[segment] = replace(held, confirmed=True, instead=None)

    def release(self, segment: str) -> bool:
        """Hold it no more; whether it was held."""
        return self.held.pop(segment, None) is not None

    def scene(self, segment: str) -> str | None:
        """What a segment shows because of a hold."""
        held = self.held.get(segment)
        if held is not None and not held.confirmed:
            held = held.instead
        return held.scene if held is not None and held.acts else None

    def deadline(self) -> int | None:
        """When the next hold ends."""
        both = (each for held in self.held.values() for each in (held, held.instead))
        dues = (each.due_ms for each in both if each is not None)
        return min((due for due in dues if due is not None), default=None)

    def settle(self, now: Moment) -> list[str]:
        """End the holds whose time has come; returns their segments."""
        over = []
        for name, held in list(self.held.items()):
            if _is_over(held, now):
                del self.held[name]
            elif held.instead is not None and _is_over(held.instead, now):
                self.held[name] = replace(held, instead=None)
            else:
                continue
            over.append(name)
        return over

    def clock(self, now: Moment) -> None:
        """The wall clock became known or was stepped: the ends move with it."""
        if now.wall_ms is not None:
            self.held = {name: _placed(held, now) for name, held in self.held.items()}

    def record(self, segment: str) -> HoldRecord:
        """A segment's hold as it crosses a start; without a scene where there is none."""
        held = self.held.get(segment)
        if held is None:
            return HoldRecord(segment, None, None, "")
        return HoldRecord(segment, held.scene, held.until_wall_ms, held.who)

    def records(self) -> Iterator[HoldRecord]:
        """Every hold."""
        yield from map(self.record, self.held)

    def restore(self, record: HoldRecord, now: Moment) -> str | None:
        """As an earlier start left it; why not, where the site has changed since."""
        if record.scene is None:
            return None
        if record.segment not in self._site.segments:
            return f"there is no segment {record.segment} any more"
        for_ms = 1 if record.until_wall_ms is not None else None
        why = self.why_not((record.segment,), record.scene, for_ms, Moment(0, 0))
        if why is None:
            held = Held(record.scene, record.who, record.until_wall_ms, None, confirmed=True)
            self.held[record.segment] = held
            self.clock(now)
        return why


def _is_over(held: Held, now: Moment) -> bool:
    return held.due_ms is not None and held.due_ms <= now.ms


def _placed(held: Held, now: Moment) -> Held:
    """With its end where the wall clock has it; one that is over ends now, not in the past."""
    instead = None if held.instead is None else _placed(held.instead, now)
    if held.until_wall_ms is None or now.wall_ms is None:
        return replace(held, instead=instead)
    due_ms = max(now.ms, now.ms + held.until_wall_ms - now.wall_ms)
    return replace(held, due_ms=due_ms, instead=instead)
