"""Between what is decided and what is told: no supply is asked for more than it bears.

Lowering comes before raising: a brighter look is handed on only when what may be shown meanwhile,
with everything that was told and not answered at its worse, leaves room for it. What is held back
is looked at again after every answer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, TypeAlias

from bridge.engine.actions import Action, Note, Scalar
from bridge.engine.showing import Showing
from bridge.engine.site import Segment, Site, Supply
from bridge.facts.values import FactValue, Unknown, Why
from bridge.lights.contact import AWAY
from bridge.lights.desired import Desired
from bridge.lights.look import Look, Native
from bridge.lights.power import FULL, Load, current_ua, dimmed, drive_of, shares
from bridge.scenes.frames import frame
from bridge.scenes.scene import Scene

#: What a segment shows in so many of its pixels.
Part: TypeAlias = tuple[Scene, int]
_ENDS: Final[tuple[FactValue, ...]] = (0.0, 1.0, Unknown(Why.NOT_HEARD))


@dataclass(slots=True)
class _Wanted:
    """What a segment should show by decision, and the most that its look can come to drive."""

    desired: Desired
    reach: int
    handed: Desired | None = None


class Powering:
    """The supplies of a site. Mutable; owned by the core."""

    def __init__(self, site: Site, showing: Showing, emit: Callable[[Action], None]) -> None:
        self.counts: Counter[str] = Counter()
        self.showing = showing
        self._site, self._emit = site, emit
        self._supply_of = {
            controller: supply for supply in site.supplies.values() for controller in supply.feeds
        }
        self._segments = {
            supply.name: [s for s in site.segments.values() if s.controller in supply.feeds]
            for supply in site.supplies.values()
        }
        self._wanted: dict[str, _Wanted] = {}
        self._scales: dict[str, int] = {}
        #: What was told of each supply: whether it acts, and by how much it cannot be kept.
        self._told: dict[str, tuple[bool, bool]] = {}

    def desire(
        self, segment: Segment, desired: Desired, parts: Sequence[Part], now_ms: int
    ) -> None:
        """A segment should show that; it is handed on as bright as its supply bears."""
        supply = self._supply_of.get(segment.controller)
        if supply is None:
            self.showing.desire(segment, desired, now_ms)
            return
        reach = sum(_reach(scene, pixels) for scene, pixels in parts)
        before = self._wanted.get(segment.name)
        handed = before.handed if before is not None else None
        self._wanted[segment.name] = _Wanted(desired, reach, handed)
        self._share_out(supply, now_ms)

    def answered(self, controller: str, now_ms: int) -> None:
        """Something is known that was not: perhaps there is room now."""
        supply = self._supply_of.get(controller)
        if supply is not None:
            self._share_out(supply, now_ms)

    def as_dimmed(self, segment: Segment, look: Look | None) -> Look | None:
        """A look as bright as the segment may show it now."""
        return None if look is None else dimmed(look, self._scales.get(segment.name, FULL))

    def dimmed_by(self, segment: Segment) -> str:
        """In words, how far it is dimmed; empty where it is not."""
        scale = self._scales.get(segment.name, FULL)
        supply = self._supply_of.get(segment.controller)
        if supply is None or scale == FULL:
            return ""
        return f"to {scale}/{FULL} by the supply {supply.name}"

    def _share_out(self, supply: Supply, now_ms: int) -> None:
        segments = [s for s in self._segments[supply.name] if s.name in self._wanted]
        loads = {segment.name: self._load(segment) for segment in segments}
        available = available_ua(self._site, supply)
        found = shares(list(loads.values()), available)
        away = [s for s in segments if self.showing.controllers[s.controller].contact in AWAY]
        if away:
            # Nobody can lower them now: what they may show is what is left for the others to bear.
            fixed = sum(self._may_draw(s, dict(found.sixteenths)[s.name]) for s in away)
            names = {segment.name for segment in away}
            others = [load for name, load in loads.items() if name not in names]
            rest = shares(others, available - fixed)
            found = replace(rest, sixteenths={**found.sixteenths, **rest.sixteenths})
        self._scales.update(found.sixteenths)
        self._tell(supply, found.over_ua)
        self._hand_on(segments, available, now_ms)

    def _load(self, segment: Segment) -> Load:
        wanted = self._wanted[segment.name]
        desired = wanted.desired
        drive = max(self._drive(segment, desired.look), wanted.reach)
        rank = (desired.is_new, desired.gravity)
        return Load(segment.name, segment.place.length, drive, self._channel_ua(segment), rank)

    def _hand_on(self, segments: Sequence[Segment], available: int, now_ms: int) -> None:
        """The graver first; whoever gets no brighter at once, whoever does when there is room."""
        may_draw = {segment.name: self._may_draw(segment) for segment in segments}
        order = sorted(segments, key=lambda s: self._load(s).rank, reverse=True)
        for segment in order:
            wanted = self._wanted[segment.name]
            look = dimmed(wanted.desired.look, self._scales[segment.name])
            desired = replace(wanted.desired, look=look)
            if desired == wanted.handed:
                continue
            draws = current_ua(self._drive(segment, look), self._channel_ua(segment))
            others = sum(each for name, each in may_draw.items() if name != segment.name)
            if draws <= may_draw[segment.name] or others + draws <= available:
                wanted.handed = desired
                may_draw[segment.name] = max(may_draw[segment.name], draws)
                self.showing.desire(segment, desired, now_ms)
            else:
                self.counts["brighter looks held back"] += 1

    def _may_draw(self, segment: Segment, sixteenths: int | None = None) -> int:
        """The most that it may be drawing now or soon: shown, on its way, or handed on."""
        state = self.showing.controllers[segment.controller].segments[segment.name]
        looks: list[Look | None] = list(state.possible)
        wanted = self._wanted[segment.name]
        if wanted.handed is not None:
            looks.append(wanted.handed.look)
        if sixteenths is not None:
            looks.append(dimmed(wanted.desired.look, sixteenths))
        drive = max(self._drive(segment, look) for look in looks)
        return current_ua(drive, self._channel_ua(segment))

    def _drive(self, segment: Segment, look: Look | None) -> int:
        native = None
        if isinstance(look, Native):
            native = self.showing.dialect_of(segment).can(look.effect, look.rate)
        return drive_of(look, segment.place.length, native)

    def _channel_ua(self, segment: Segment) -> int:
        draws = self._site.controllers[segment.controller].draws
        return 0 if draws is None else draws.channel_ua

    def _tell(self, supply: Supply, over_ua: int) -> None:
        """Once, when it begins or ends to act."""
        scaled = [
            s.name for s in self._segments[supply.name] if self._scales.get(s.name, FULL) < FULL
        ]
        told = (bool(scaled), over_ua > 0)
        if self._told.get(supply.name, (False, False)) == told:
            return
        self._told[supply.name] = told
        fields: dict[str, Scalar] = {"supply": supply.name}
        if over_ua:
            fields["over"] = f"{over_ua / 1e6:.2f} A"
            self._emit(Note("error", "a supply is asked for more than it bears", fields))
        elif scaled:
            fields["segments"] = ", ".join(scaled)
            self._emit(Note("info", "segments are dimmed to spare their supply", fields))
        else:
            self._emit(Note("info", "segments are as bright as they should be again", fields))


def available_ua(site: Site, supply: Supply) -> int:
    """What is left for the looks: the limit less the reserve and what every pixel draws dark."""
    idle = 0
    for name in supply.feeds:
        controller = site.controllers[name]
        if controller.draws is not None:
            idle += controller.draws.idle_ua * controller.pixels
    return supply.limit_ua - supply.reserve_ua - idle


@lru_cache(1024)
def _reach(scene: Scene, pixels: int) -> int:
    """The most that a gauge can come to drive while the decision stands; 0 without an input."""
    if scene.effect != "gauge":
        return 0
    return max(sum(frame(scene, pixels, 0, {scene.source: end})) for end in _ENDS)
