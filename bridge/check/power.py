"""Supplies: what their lights draw at worst, and what the power cap has to dim for it."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.finding import Finding, Kind
from bridge.check.scenes import looks_of
from bridge.engine.powering import available_ua
from bridge.engine.site import Segment, Site, Supply
from bridge.facts.values import FactValue, Unknown, Why
from bridge.facts.vocabulary import gravity
from bridge.lights.desire import choose_look
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Native
from bridge.lights.power import FULL, Load, drive_of, shares

#: A gauge's ends, and unknown: what it draws most in is one of them.
_INPUTS: tuple[FactValue, ...] = (0.0, 1.0, Unknown(Why.NOT_HEARD))
_ACT = gravity("act")
_NO_FUSE = "; this limits what the bridge decides and is no fuse: fuse every branch"


def power_findings(site: Site) -> Iterator[Finding]:
    """One finding for each supply."""
    for supply in site.supplies.values():
        available = available_ua(site, supply)
        if available <= 0:
            short = f"{-available / 1e6:.2f} A over"
            why = f"reserve and dark pixels draw more than its limit ({short})"
            yield _finding(supply, "error", f"supply {supply.name}: {why}{_NO_FUSE}")
            continue
        loads = [load for load in _loads(site, supply) if load is not None]
        found = shares(loads, available)
        worst = sum(load.ua(FULL) for load in loads) + supply.limit_ua - available
        dimmed = [each.segment for each in loads if found.sixteenths[each.segment] < FULL]
        alarms = [e.segment for e in loads if e.segment in dimmed and e.rank[1] >= _ACT]
        said = (
            f"supply {supply.name}: at worst its lights want {worst / 1e6:.2f} A of "
            f"{supply.limit_ua / 1e6:.2f} A"
        )
        if found.over_ua:
            over = f"{found.over_ua / 1e6:.2f} A too much even when all are dimmed as far as can be"
            yield _finding(supply, "error", f"{said}, {over}{_NO_FUSE}")
        elif alarms:
            which = f"so that alarms too are dimmed on {', '.join(alarms)}"
            yield _finding(supply, "warning", f"{said}, {which}{_NO_FUSE}")
        else:
            dims = f"; then dimmed: {', '.join(dimmed)}" if dimmed else ""
            yield _finding(supply, "note", f"{said}{dims}{_NO_FUSE}")


def _finding(supply: Supply, severity: str, message: str) -> Finding:
    about = (("supply", supply.name),)
    return Finding(Kind.POWER, severity, supply.source, message, about=about)


def _loads(site: Site, supply: Supply) -> Iterator[Load | None]:
    for segment in site.segments.values():
        if segment.controller in supply.feeds:
            yield _worst(site, segment)


def _worst(site: Site, segment: Segment) -> Load | None:
    """The scene of it that draws most, as grave as the gravest that draws so much."""
    controller = site.controllers[segment.controller]
    dialect = Dialect(site.dialects[controller.dialect])
    drives = []
    for _, scene in looks_of(site, segment):
        for value in _INPUTS:
            look = choose_look(scene, dialect, segment.place, {scene.source: value}).look
            native = dialect.can(look.effect, look.rate) if isinstance(look, Native) else None
            if look is not None:
                drive = drive_of(look, segment.place.length, native)
                drives.append((drive, gravity(scene.says)))
    if not drives or controller.draws is None:
        return None
    drive, grave = max(drives)
    channel_ua = controller.draws.channel_ua
    return Load(segment.name, segment.place.length, drive, channel_ua, (False, grave))
