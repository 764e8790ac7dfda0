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
    frame = look.frames[0] if isinstance(look, Moving) else look.frame
    return dialect.paint(place, frame, before)
