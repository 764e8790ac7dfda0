"""Between what is decided and what is told: no supply is asked for more than it bears.

Lowering comes before raising: a brighter look is handed on only as bright as what may be shown
meanwhile leaves room for, with everything that was told and not answered at its worse. What nobody
can lower now (a controller that does not answer, a segment that does not keep what it is told, what
somebody else set) counts at its worst, or as it was last read, and the others have the rest.

Where even that cannot be kept with everything as dark as it can be and lit, everything is told so,
and by how much it is too much is said: a signal that is not shown would be a lie for certain, while
what is counted at its worst seldom is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final, TypeAlias

from bridge.engine.actions import Action, Note, Scalar
from bridge.engine.showing import Showing
from bridge.engine.site import Segment, Site, Supply
from bridge.facts.values import FactValue, Unknown, Why
from bridge.lights.contact import AWAY
from bridge.lights.desired import Desired
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.power import (
    FULL,
    Drives,
    Load,
    Shares,
    current_ua,
    dimmed,
    drive_as_read,
    drive_of,
    drives_of,
    least_of,
    shares,
    worst_drive,
)
from bridge.lights.segment import SegmentState
from bridge.lights.standing import LEFT_ALONE
from bridge.scenes.frames import frame
from bridge.scenes.scene import Scene

#: What a segment shows in so many of its pixels.
Part: TypeAlias = tuple[Scene, int]
_NOT_KNOWN: Final = Unknown(Why.NOT_HEARD)
#: What rounding adds in the one pixel where a gauge ends.
_EDGE: Final = 6


@dataclass(slots=True)
class _Wanted:
    """What a segment should show by decision, and what of it was handed on last."""

    desired: Desired
    parts: tuple[Part, ...]
    handed: Desired | None = None
    #: Of which decided look that was.
    handed_of: Desired | None = None
    #: How far it was dimmed for that.
    scale: int = FULL


class Powering:
    """The supplies of a site. Mutable; owned by the core."""

    def __init__(self, site: Site, showing: Showing, emit: Callable[[Action], None]) -> None:
        self.counts: Counter[str] = Counter()
        self.showing = showing
        self._supplies = {
            supply.name: Supplied(site, supply, showing, self.counts, emit)
            for supply in site.supplies.values()
        }
        self._supply_of = {
            controller: self._supplies[supply.name]
            for supply in site.supplies.values()
            for controller in supply.feeds
        }
        self._to_share: dict[str, Supplied] = {}

    def desire(
        self, segment: Segment, desired: Desired, parts: Sequence[Part], now_ms: int
    ) -> None:
        """A segment should show that; ``settle`` hands it on as bright as its supply bears."""
        supplied = self._supply_of.get(segment.controller)
        if supplied is None:
            self.showing.desire(segment, desired, now_ms)
        elif supplied.desire(segment, desired, tuple(parts)):
            self._to_share[supplied.name] = supplied

    def answered(self, controller: str) -> None:
        """Something is known that was not, or no longer: perhaps there is room now."""
        supplied = self._supply_of.get(controller)
        if supplied is not None:
            self._to_share[supplied.name] = supplied

    def settle(self, now_ms: int) -> None:
        """Hand on what there is room for: once, when everything is decided."""
        if self._to_share:
            for _, supplied in sorted(self._to_share.items()):
                supplied.share_out(now_ms)
            self._to_share.clear()

    def as_dimmed(self, segment: Segment, look: Look | None) -> Look | None:
        """A look as bright as the segment may show it now."""
        supplied = self._supply_of.get(segment.controller)
        return look if look is None or supplied is None else supplied.as_dimmed(segment, look)

    def dimmed_by(self, segment: Segment) -> str:
        """In words, how far it is dimmed; empty where it is not."""
        supplied = self._supply_of.get(segment.controller)
        scale = FULL if supplied is None else supplied.scale(segment)
        if supplied is None or scale == FULL:
            return ""
        return f"to {scale}/{FULL} by the supply {supplied.name}"


class Supplied:
    """One supply with its segments."""

    def __init__(
        self,
        site: Site,
        supply: Supply,
        showing: Showing,
        counts: Counter[str],
        emit: Callable[[Action], None],
    ) -> None:
        self.name = supply.name
        self._showing, self._counts, self._emit = showing, counts, emit
        self._segments = [s for s in site.segments.values() if s.controller in supply.feeds]
        self._available = available_ua(site, supply)
        self._channel_ua = {s.name: channel_ua(site, s) for s in self._segments}
        self._wanted: dict[str, _Wanted] = {}
        # While it fades, a look draws what it drew; nobody would know when there is room.
        self._may_fade = sum(map(self._worst_ua, self._segments)) <= self._available
        #: What was told: which segments are dimmed, and whether that is not enough.
        self._told = (False, False)

    def desire(self, segment: Segment, desired: Desired, parts: tuple[Part, ...]) -> bool:
        """A segment should show that; returns whether it is another than before."""
        wanted = self._wanted.get(segment.name)
        if wanted is None:
            self._wanted[segment.name] = _Wanted(desired, parts)
            return True
        is_new = (wanted.desired, wanted.parts) != (desired, parts)
        wanted.desired, wanted.parts = desired, parts
        return is_new

    def scale(self, segment: Segment) -> int:
        """How far a segment is dimmed, in sixteenths."""
        wanted = self._wanted.get(segment.name)
        return FULL if wanted is None else wanted.scale

    def as_dimmed(self, segment: Segment, look: Look) -> Look:
        """A look as it is handed on."""
        look = dimmed(look, self.scale(segment))
        return look if self._may_fade else _at_once(look)

    def share_out(self, now_ms: int) -> None:
        """See anew how bright each may be, and hand on what there is room for."""
        ours = [s for s in self._segments if s.name in self._wanted]
        left = [s for s in ours if self._is_left(s)]
        loads = [(s, self._load(s)) for s in ours if s not in left]
        not_ours = [s for s in self._segments if s.name not in self._wanted]
        available = self._available - sum(map(self._worst_ua, not_ours))
        available -= sum(map(self._may_draw, left))
        may_draw = {segment.name: self._may_draw(segment) for segment, _ in loads}
        found = self._shares(loads, available, may_draw)
        self._tell(found)
        for segment in left:
            self._hand_on(segment, FULL, now_ms)
        scales = found.sixteenths
        # What nobody knows is about to be told: for others that are as unknown it counts as that,
        # or as what was told before and is not answered yet.
        expected = may_draw | {
            s.name: max(load.ua(scales[s.name]), self._on_its_way(s))
            for s, load in loads
            if self._is_unknown(s)
        }
        for segment, load in sorted(loads, key=lambda each: each[1].rank, reverse=True):
            name = segment.name
            counts = expected if self._is_unknown(segment) else may_draw
            room = available - sum(counts.values()) + counts[name]
            room = max(room, self._no_brighter_ua(segment, may_draw[name]))
            bears = None if found.over_ua else room
            scale = self._fitting(segment, load, scales[name], bears)
            if scale is not None:
                self._hand_on(segment, scale, now_ms, bears)
                may_draw[name] = self._may_draw(segment)

    def _no_brighter_ua(self, segment: Segment, may_draw: int) -> int:
        """What it may be told without growing brighter: as nobody knows, what it is told anyway."""
        handed = self._wanted[segment.name].handed
        if not self._is_unknown(segment):
            return may_draw
        drive = 0 if handed is None else self._drive(segment, handed.look)
        return current_ua(drive, self._channel_ua[segment.name])

    def _shares(
        self, loads: Sequence[tuple[Segment, Load]], available: int, may_draw: Mapping[str, int]
    ) -> Shares:
        all_loads = [load for _, load in loads]
        found = shares(all_loads, available)
        stuck = {segment.name for segment, _ in loads if self._is_stuck(segment)}
        if not stuck:
            return found
        scales = dict(found.sixteenths)
        fixed = [load for load in all_loads if load.segment in stuck]
        fixed_ua = sum(max(may_draw[x.segment], x.ua(scales[x.segment])) for x in fixed)
        others = [load for load in all_loads if load.segment not in stuck]
        rest = shares(others, available - fixed_ua)
        return replace(rest, sixteenths={**scales, **rest.sixteenths})

    def _fitting(self, segment: Segment, load: Load, scale: int, room: int | None) -> int | None:
        """As far as there is room (``None``: any), which it has who gets no brighter.

        A look that was handed on before waits for room for all of it, lest it grow step by step.
        """
        wanted = self._wanted[segment.name]
        least = 1 if wanted.handed_of != wanted.desired else scale
        scales = range(scale, least - 1, -1)
        fits = next((n for n in scales if room is None or load.ua(n) <= room), None)
        if fits != scale:
            self._counts["brighter looks held back"] += 1
        return None if fits is None else load.scale(fits)

    def _hand_on(self, segment: Segment, scale: int, now_ms: int, room: int | None = None) -> None:
        wanted = self._wanted[segment.name]
        wanted.scale, wanted.handed_of = scale, wanted.desired
        look = self.as_dimmed(segment, wanted.desired.look)
        # What would be given back may be anything.
        bears = room is not None and self._worst_ua(segment) <= room
        hands_back = wanted.desired.hands_back and (bears or not self._gives_back(segment))
        desired = replace(wanted.desired, look=look, hands_back=hands_back)
        if desired != wanted.handed:
            wanted.handed = desired
            self._showing.desire(segment, desired, now_ms)

    # What is known of a segment

    def _state(self, segment: Segment) -> SegmentState:
        return self._showing.controllers[segment.controller].segments[segment.name]

    def _dialect(self, segment: Segment) -> Dialect:
        return self._showing.dialect_of(segment)

    def _is_left(self, segment: Segment) -> bool:
        """Whether somebody else's look stays there, by what was decided so far."""
        wanted = self._wanted[segment.name]
        is_decided = wanted.handed is not None and wanted.handed.decision == wanted.desired.decision
        return is_decided and self._state(segment).standing in LEFT_ALONE

    def _is_stuck(self, segment: Segment) -> bool:
        """Whether it may be long until it shows what it is told."""
        controller = self._showing.controllers[segment.controller]
        return controller.contact in AWAY or self._state(segment).disagrees

    def _is_unknown(self, segment: Segment) -> bool:
        """Whether nobody knows what it shows, but it is told soon: as after a restart."""
        return None in self._state(segment).possible and not self._is_stuck(segment)

    def _gives_back(self, segment: Segment) -> bool:
        return self._state(segment).kept is not None

    def _rank(self, segment: Segment) -> tuple[bool, int]:
        desired = self._wanted[segment.name].desired
        return desired.is_new, desired.gravity

    def _load(self, segment: Segment) -> Load:
        wanted, dialect = self._wanted[segment.name], self._dialect(segment)
        look, pixels = wanted.desired.look, segment.place.length
        drives = drives_of(look, pixels, dialect)
        if not isinstance(look, Native):
            drives = _reach(drives, wanted.parts, dialect)
        least = least_of(look, dialect)
        return Load(
            segment.name, drives, self._channel_ua[segment.name], self._rank(segment), least
        )

    def _may_draw(self, segment: Segment) -> int:
        """The most that it may be drawing now or soon: shown, on its way, or handed on."""
        state, handed = self._state(segment), self._wanted[segment.name].handed
        drives = [self._drive(segment, look) for look in state.possible]
        if handed is not None and not self._is_left(segment):
            gives_back = handed.hands_back and self._gives_back(segment)
            drives.append(self._drive(segment, None if gives_back else handed.look))
        return current_ua(max(drives), self._channel_ua[segment.name])

    def _on_its_way(self, segment: Segment) -> int:
        """The most of what it was told since nobody knows what it shows."""
        told = [look for look in self._state(segment).possible if look is not None]
        drive = max((self._drive(segment, look) for look in told), default=0)
        return current_ua(drive, self._channel_ua[segment.name])

    def _drive(self, segment: Segment, look: Look | None) -> int:
        pixels, dialect = segment.place.length, self._dialect(segment)
        if look is not None:
            return drive_of(look, pixels, dialect)
        state = self._state(segment)
        if state.seen and (state.standing in LEFT_ALONE or state.disagrees):
            return drive_as_read(state.seen, pixels, dialect)
        return worst_drive(pixels, dialect)

    def _worst_ua(self, segment: Segment) -> int:
        drive = worst_drive(segment.place.length, self._dialect(segment))
        return current_ua(drive, self._channel_ua[segment.name])

    def _tell(self, found: Shares) -> None:
        """Once, when it begins or ends to act."""
        names = ", ".join(name for name, scale in found.sixteenths.items() if scale < FULL)
        over_ua = found.over_ua
        told = (bool(names), over_ua > 0)
        if self._told == told:
            return
        self._told = told
        fields: dict[str, Scalar] = {"supply": self.name}
        if over_ua:
            self._counts["supplies asked for more than they bear"] += 1
            fields["over"] = f"{over_ua / 1e6:.2f} A"
            self._emit(Note("error", "a supply is asked for more than it bears", fields))
        elif names:
            self._counts["power caps begun"] += 1
            fields["segments"] = names
            self._emit(Note("info", "segments are dimmed to spare their supply", fields))
        else:
            self._emit(Note("info", "segments are as bright as they should be again", fields))


def channel_ua(site: Site, segment: Segment) -> int:
    """What one channel of its pixels draws at its fullest; 0 where the site does not say."""
    draws = site.controllers[segment.controller].draws
    return 0 if draws is None else draws.channel_ua


def available_ua(site: Site, supply: Supply) -> int:
    """What is left for the looks: the limit less the reserve and what every pixel draws dark."""
    idle = 0
    for name in supply.feeds:
        controller = site.controllers[name]
        if controller.draws is not None:
            idle += controller.draws.idle_ua * controller.pixels
    return supply.limit_ua - supply.reserve_ua - idle


def _at_once(look: Look) -> Look:
    return look if isinstance(look, Moving) else replace(look, fade_ms=0)


@lru_cache(1024)
def _reach(drives: Drives, parts: tuple[Part, ...], dialect: Dialect) -> Drives:
    """The most that painted gauges can come to drive while the decision stands."""
    if all(scene.effect != "gauge" for scene, _ in parts):
        return drives
    most = [0] * FULL
    for scene, pixels in parts:
        ends: tuple[FactValue, ...] = (0.0, scene.fills, _NOT_KNOWN)
        looks = [Still(frame(scene, pixels, 0, {scene.source: end})) for end in ends]
        each = [drives_of(look, pixels, dialect) for look in looks]
        most = [sum_ + max(at) + _EDGE for sum_, *at in zip(most, *each, strict=True)]
    return tuple(map(max, drives, most))
