"""Requests that a controller could not take in: bodies and addresses beyond its limits."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.finding import Finding, Kind
from bridge.check.scenes import looks_of
from bridge.engine.site import Segment, Site
from bridge.facts.values import Unknown, Why
from bridge.lights.desire import choose_look
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.rendering import render

#: What small embedded servers take as an address (documentation of a widely used SDK).
MOST_TARGET_BYTES = 512
#: A gauge at its ends, in the middle and unknown: its changed ranges are most in between.
_INPUTS = (0.0, 0.37, 0.5, 1.0, Unknown(Why.NOT_HEARD))


def size_findings(site: Site) -> Iterator[Finding]:
    """One finding for each segment whose largest request is too large."""
    dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
    for segment in site.segments.values():
        dialect = dialects[site.controllers[segment.controller].dialect]
        body, target = _largest(site, segment, dialect)
        most = dialect.limits.body_bytes
        who = f"segment {segment.name} on {segment.controller} ({dialect.name})"
        if body > most:
            yield Finding(
                Kind.REQUEST_TOO_LARGE,
                "error",
                segment.source,
                f"{who}: a request has a body of {body} bytes, more than its limit of {most} B; "
                "let paint repeat each: range, or pixels with most:, so that it can be divided",
                about=(("segment", segment.name),),
            )
        if target > MOST_TARGET_BYTES:
            yield Finding(
                Kind.REQUEST_TOO_LARGE,
                "warning",
                segment.source,
                f"{who}: a request has an address of {target} bytes, and small controllers take "
                f"{MOST_TARGET_BYTES}; let the body carry what the query does",
                about=(("segment", segment.name),),
            )


def _largest(site: Site, segment: Segment, dialect: Dialect) -> tuple[int, int]:
    body, target = 0, 0
    for _, scene in looks_of(site, segment):
        for progress in _INPUTS:
            inputs = {"progress": progress}
            look = choose_look(scene, dialect, segment.place, inputs).look
            if look is None:
                continue
            for prepared in render(dialect, segment.place, look):
                body = max(body, len(prepared.body or b""))
                target = max(target, len(prepared.path))
    return body, target
