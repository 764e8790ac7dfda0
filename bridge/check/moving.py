"""Flashes that are painted frame by frame, and what a controller's limits leave of their rate."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.finding import Finding, Kind
from bridge.check.scenes import looks_of
from bridge.engine.site import Segment, Site
from bridge.lights.desire import choose_look
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Moving
from bridge.lights.pace import LEAST_CHANGE_MS, Pace


def moving_findings(site: Site) -> Iterator[Finding]:
    """One finding for each segment whose painted flashes cannot go at their rate."""
    dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
    for segment in site.segments.values():
        dialect = dialects[site.controllers[segment.controller].dialect]
        slower: dict[str, list[str]] = {}
        for name, look in _moving(site, segment, dialect):
            how = _how(look, segment, dialect)
            if how:
                slower.setdefault(how, []).append(name)
        for how, names in slower.items():
            yield Finding(
                Kind.SCENE_NOT_WHOLE,
                "warning",
                segment.source,
                f"segment {segment.name} on {segment.controller} ({dialect.name}): "
                f"{', '.join(names)}: painted frame by frame, which its limits carry {how}; give "
                "the dialect a flash of the controller's own, or raise its limits if it bears more",
                about=(("segment", segment.name),),
            )


def _moving(site: Site, segment: Segment, dialect: Dialect) -> Iterator[tuple[str, Moving]]:
    for name, scene in looks_of(site, segment):
        look = choose_look(scene, dialect, segment.place, {}).look
        if isinstance(look, Moving):
            yield name, look


def _how(look: Moving, segment: Segment, dialect: Dialect) -> str:
    """How it goes where nothing else on the controller moves; empty where as it should."""
    frames, pace = len(look.frames), Pace.by_limits(dialect.limits)
    requests = max(
        len(dialect.paint(segment.place, frame, before))
        for before, frame in zip(look.frames, (*look.frames[1:], look.frames[0]), strict=True)
    )
    least_ms = max(pace.least_period_ms(frames * requests), frames * LEAST_CHANGE_MS)
    period_ms = next((each for each in look.periods_ms if each >= least_ms), None)
    if period_ms == look.periods_ms[0]:
        return ""
    if period_ms is None:
        return "not at all, so that its brighter half stands still"
    return f"only every {period_ms} ms instead of every {look.periods_ms[0]} ms"
