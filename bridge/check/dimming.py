"""Quiet hours that leave too little to see, or that say two things of one segment."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from bridge.check.finding import Finding, Kind
from bridge.check.scenes import looks_of
from bridge.engine.site import QuietHours, Segment, Site
from bridge.facts.vocabulary import gravity
from bridge.scenes.frames import frame
from bridge.scenes.scene import CALM_MS, PERIOD_MS, Scene

_ACT = gravity("act")


def dimming_findings(site: Site) -> Iterator[Finding]:
    """One finding for each quiet hours and what they spoil."""
    for quiet in site.quiet_hours.values():
        gone: dict[str, list[str]] = {}
        for name in quiet.segments:
            segment = site.segments[name]
            for scene_name, scene in looks_of(site, segment):
                why = _spoilt(quiet, segment, scene)
                if why and scene_name not in gone.setdefault(why, []):
                    gone[why].append(scene_name)
        for why, names in gone.items():
            yield Finding(
                Kind.TOO_DIM,
                "warning",
                quiet.source,
                f"quiet hours {quiet.name}: at {quiet.brightness:.0%} of its brightness "
                f"{', '.join(names)} {why}; leave more of it, or let alarms be full",
                about=(("quiet-hours", quiet.name),),
            )
    for one, other in combinations(site.quiet_hours.values(), 2):
        both = sorted(set(one.segments) & set(other.segments))
        if both and one.brightness != other.brightness:
            yield Finding(
                Kind.TOO_DIM,
                "note",
                other.source,
                f"quiet hours {one.name} and {other.name} are both about {', '.join(both)}; "
                "where both hold, the darker one counts",
                about=(("quiet-hours", other.name),),
            )


def _spoilt(quiet: QuietHours, segment: Segment, scene: Scene) -> str:
    """What cannot be seen any more at 8 bits; empty where all can."""
    if scene.brightness == 0 or (quiet.alarms == "full" and gravity(scene.says) >= _ACT):
        return ""
    dimmed = replace(scene, brightness=scene.brightness * quiet.brightness)
    pixels = segment.place.length
    first = frame(dimmed, pixels, 0, {scene.source: scene.fills})
    if not any(first):
        return "gives no light at all"
    if scene.effect == "flash" and first == frame(
        dimmed, pixels, PERIOD_MS[scene.rate] // 2 + 1, {}
    ):
        return "has two halves alike"
    if scene.effect == "swell" and first == frame(dimmed, pixels, CALM_MS // 2, {}):
        return "swells so little that it stands still"
    if scene.effect == "gauge" and first == frame(dimmed, pixels, 0, {scene.source: 0.0}):
        return "looks the same empty and full"
    return ""
