"""Segments that would go on saying what they last said when the bridge's own board dies."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.finding import Finding, Kind
from bridge.engine.leaving import telling_segments
from bridge.engine.site import Site


def lying_findings(site: Site) -> Iterator[Finding]:
    """One note for each controller whose looks do not expire."""
    telling: dict[str, list[str]] = {}
    for segment in telling_segments(site):
        telling.setdefault(segment.controller, []).append(segment.name)
    for name, segments in telling.items():
        controller = site.controllers[name]
        grammar = site.dialects[controller.dialect]
        if grammar.lasts_ms is not None:
            continue
        first = site.segments[segments[0]]
        boot = (
            ""
            if grammar.boot is None
            else (
                "; its own look at power-up is off watch, which helps only where its power goes too"
            )
        )
        yield Finding(
            Kind.GOES_ON_LYING,
            "note",
            first.source,
            f"controller {name} ({controller.dialect}): {', '.join(segments)} would go on showing "
            "what they were last told if the board that runs the bridge lost its power, as its "
            f"looks do not expire (lasts){boot}",
            about=(("controller", name),),
        )
