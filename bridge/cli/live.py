"""What a visit to the controllers found, in lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.check.visit import Visit
    from bridge.engine.site import Site


def visit_lines(site: Site, visits: Sequence[Visit]) -> Iterator[str]:
    """One paragraph a controller."""
    for visit in visits:
        controller = site.controllers[visit.controller]
        yield f"{controller.name}  {controller.url} ({controller.dialect}): {_gist(visit)}"
        yield from (f"  WRONG: {line}" for line in visit.wrong)
        yield from (f"  {line}" for line in visit.said)
        yield from (f"  would change: {line}" for line in visit.would_change)


def _gist(visit: Visit) -> str:
    if not visit.took_ms:
        return "no answer" if visit.wrong else "not asked"
    least, most = min(visit.took_ms), max(visit.took_ms)
    times = f"{least} ms" if least == most else f"{least} to {most} ms"
    return f"{len(visit.took_ms)} answers in {times}"


def visit_value(visit: Visit) -> dict[str, object]:
    """For programs."""
    return {
        "controller": visit.controller,
        "wrong": visit.wrong,
        "said": visit.said,
        "would_change": visit.would_change,
        "took_ms": visit.took_ms,
    }
