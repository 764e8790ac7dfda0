"""What is left behind when nobody watches the printers any more: every segment off watch.

The same looks are shown by the core when it is told to stop, and are ready as requests for whatever
sends them after a daemon that died some other way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bridge.engine.site import Controller, Segment, Site, segments_named
from bridge.lights.desire import choose_look
from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.place import Place
from bridge.lights.rendering import render


@dataclass(frozen=True, slots=True)
class Ready:
    """The requests that leave one controller off watch, in order."""

    controller: Controller
    requests: tuple[Prepared, ...]


def telling_segments(site: Site) -> Iterator[Segment]:
    """Those that tell of a printer, by a table or by an alarm that they may have to carry."""
    carrying: set[str] = set()
    for alarm in site.alarms.values():
        carrying.update(segments_named(site, alarm.segments))
        if alarm.escalate is not None:
            carrying.update(segments_named(site, alarm.escalate.segments))
    for segment in site.segments.values():
        if segment.table is not None or segment.name in carrying:
            yield segment


def off_watch_look(site: Site, segment: Segment, dialect: Dialect) -> Look | None:
    """What is left on a segment; it stands still, as nobody is there to move it."""
    look = choose_look(site.scenes[site.off_watch], dialect, segment.place, {}).look
    return Still(look.frames[0]) if isinstance(look, Moving) else look


def ready_requests(site: Site) -> tuple[Ready, ...]:
    """For every controller that has a segment which tells of a printer.

    Where a dialect has to send what is not ours as it was read, only ours is sent: nobody will
    have read it then.
    """
    telling = tuple(telling_segments(site))
    found = []
    for controller in site.controllers.values():
        dialect = Dialect(site.dialects[controller.dialect])
        looks = [
            (segment.place, look)
            for segment in telling
            if segment.controller == controller.name
            and (look := off_watch_look(site, segment, dialect)) is not None
        ]
        if looks:
            found.append(Ready(controller, tuple(_requests(dialect, looks))))
    return tuple(found)


def _requests(dialect: Dialect, looks: list[tuple[Place, Look]]) -> Iterator[Prepared]:
    natives = [(place, look) for place, look in looks if isinstance(look, Native)]
    while natives:
        count = max(1, dialect.fitting(natives))
        yield dialect.show(natives[:count])
        yield from dialect.after_show(natives[:count])
        natives = natives[count:]
    for place, look in looks:
        if not isinstance(look, Native):
            yield from render(dialect, place, look)
