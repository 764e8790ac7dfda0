"""The requests that show one look on one segment."""

from __future__ import annotations

from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.look import Look, Moving, Native
from bridge.lights.place import Place


def render(
    dialect: Dialect, place: Place, look: Look, before: bytes | None = None
) -> tuple[Prepared, ...]:
    """In order; ``before`` is the painted frame that the segment is known to show.

    Of what moves it is the first frame.
    """
    if isinstance(look, Native):
        items = [(place, look)]
        return (dialect.show(items), *dialect.after_show(items))
    if isinstance(look, Moving):
        return dialect.paint(place, look.frames[0], before)
    return dialect.paint(place, look.frame, before, look.fade_ms)
