"""Supplies: what their lights draw at worst, and what the power cap has to dim for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from bridge.check.finding import Finding, Kind
from bridge.check.scenes import looks_of
from bridge.engine.powering import available_ua, channel_ua
from bridge.engine.site import Segment, Site, Supply
from bridge.facts.values import FactValue, Unknown, Why
from bridge.facts.vocabulary import gravity
from bridge.lights.desire import choose_look
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Look
from bridge.lights.power import FULL, Load, drive_of, drives_of, least_of, shares
from bridge.scenes.scene import Scene

#: A gauge's ends, and unknown: what it draws most in is one of them.
_NOT_KNOWN: Final = Unknown(Why.NOT_HEARD)
_RESTING: Final = gravity("resting")
_ACT: Final = gravity("act")
_NO_FUSE: Final = "; this limits what the bridge decides and is no fuse: fuse every branch"


def power_findings(site: Site) -> Iterator[Finding]:
    """One finding for each supply."""
    for supply in site.supplies.values():
        severity, said = _of(site, supply)
        message = f"supply {supply.name}: {said}{_NO_FUSE}"
        yield Finding(
            Kind.POWER, severity, supply.source, message, about=(("supply", supply.name),)
        )


class Caps:
    """How far the supplies of a site can come to dim a scene."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._supply = {name: each for each in site.supplies.values() for name in each.feeds}
        self._worst: dict[tuple[str, int], Load | None] = {}
        self._known: dict[tuple[str, Scene], int] = {}
        self._dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}

    def sixteenths(self, segment: Segment, scene: Scene) -> int:
        """Of its drive, where every other segment shows what leaves it least."""
        supply = self._supply.get(segment.controller)
        if supply is None or scene.brightness == 0:
            return FULL
        key = (segment.name, scene)
        if key not in self._known:
            self._known[key] = self._sixteenths(segment, scene, supply)
        return self._known[key]

    def _sixteenths(self, segment: Segment, scene: Scene, supply: Supply) -> int:
        site, grave = self._site, gravity(scene.says)
        dialect = self._dialects[site.controllers[segment.controller].dialect]
        wants = list(_wants(segment, scene, dialect))
        if not wants:
            return FULL
        beside = (self._worst_of(each, grave) for each in self._beside(segment, supply))
        own = _load(site, segment, max(wants), dialect)
        loads = [own, *(load for load in beside if load is not None)]
        return shares(loads, max(0, available_ua(site, supply))).sixteenths[segment.name]

    def _beside(self, segment: Segment, supply: Supply) -> Iterator[Segment]:
        for each in self._site.segments.values():
            if each.controller in supply.feeds and each.name != segment.name:
                yield each

    def _worst_of(self, segment: Segment, grave: int) -> Load | None:
        """What is as grave is dimmed no sooner than the scene that is asked about."""
        key = (segment.name, grave)
        if key not in self._worst:
            self._worst[key] = _worst(self._site, segment, grave)
        return self._worst[key]


def _of(site: Site, supply: Supply) -> tuple[str, str]:
    available = available_ua(site, supply)
    if available <= 0:
        over = f"{-available / 1e6:.2f} A over"
        return "error", f"reserve and dark pixels draw more than its limit ({over})"
    segments = [s for s in site.segments.values() if s.controller in supply.feeds]
    loads = _loads(site, segments, _RESTING)
    worst = sum(load.ua(FULL) for load in loads) + supply.limit_ua - available
    said = f"at worst its lights want {worst / 1e6:.2f} A of {supply.limit_ua / 1e6:.2f} A"
    found = shares(loads, available)
    if found.over_ua:
        over = f"{found.over_ua / 1e6:.2f} A"
        return "error", f"{said}, {over} too much even when all are dimmed as far as can be"
    # Whatever is milder may be dimmed first; what then is left are alarms everywhere.
    alarms = _dimmed(_loads(site, segments, _ACT), available, _ACT)
    if alarms:
        return "warning", f"{said}, so that alarms too are dimmed on {alarms}"
    dimmed = _dimmed(loads, available, _RESTING)
    return "note", f"{said}; then dimmed: {dimmed}" if dimmed else said


def _dimmed(loads: list[Load], available: int, least_grave: int) -> str:
    scales = shares(loads, available).sixteenths
    ours = [load.segment for load in loads if load.rank[1] >= least_grave]
    return ", ".join(name for name in ours if scales[name] < FULL)


def _loads(site: Site, segments: list[Segment], least_grave: int) -> list[Load]:
    found = (_worst(site, segment, least_grave) for segment in segments)
    return [load for load in found if load is not None]


def _worst(site: Site, segment: Segment, least_grave: int) -> Load | None:
    """The scene of it that draws most, of those that grave, else of any.

    It counts as grave as the gravest that draws so much.
    """
    dialect = Dialect(site.dialects[site.controllers[segment.controller].dialect])
    wants = [
        each for _, scene in looks_of(site, segment) for each in _wants(segment, scene, dialect)
    ]
    grave = [each for each in wants if each.grave >= least_grave]
    most = max(grave or wants, default=None)
    return None if most is None else _load(site, segment, most, dialect)


@dataclass(frozen=True, slots=True, order=True)
class _Want:
    """What a look drives at its fullest, and how grave it is; ordered by that."""

    drive: int
    grave: int
    look: Look = field(compare=False)


def _wants(segment: Segment, scene: Scene, dialect: Dialect) -> Iterator[_Want]:
    """What a scene wants with each input that it may have."""
    values: tuple[FactValue, ...] = (0.0, scene.fills, _NOT_KNOWN)
    for value in values if scene.effect == "gauge" else values[:1]:
        look = choose_look(scene, dialect, segment.place, {scene.source: value}).look
        if look is not None:
            drive = drive_of(look, segment.place.length, dialect)
            yield _Want(drive, gravity(scene.says), look)


def _load(site: Site, segment: Segment, want: _Want, dialect: Dialect) -> Load:
    drives = drives_of(want.look, segment.place.length, dialect)
    least = least_of(want.look, dialect)
    return Load(segment.name, drives, channel_ua(site, segment), (False, want.grave), least)
