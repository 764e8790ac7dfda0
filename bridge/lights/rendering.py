"""The requests that show one look on one segment."""

from __future__ import annotations

from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.look import Look, Native
from bridge.lights.place import Place


def render(
    dialect: Dialect, place: Place, look: Look, before: bytes | None = None
) -> tuple[Prepared, ...]:
    """In order; ``before`` is the painted frame that the segment is known to show."""
    if isinstance(look, Native):
        items = [(place, look)]
        return (dialect.show(items), *dialect.after_show(items))
    return dialect.paint(place, look.frame, before)
