"""What is left behind when nobody watches the printers any more: every segment off watch.

The same looks are shown by the core when it is told to stop, and are ready as requests for whatever
sends them after a daemon that died some other way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from bridge.engine.powering import available_ua
from bridge.engine.site import Controller, Segment, Site, segments_named
from bridge.lights.desire import choose_look
from bridge.lights.dialect.codecs import Json
from bridge.lights.dialect.dialect import Dialect, Prepared
from bridge.lights.dialect.grammar import DialectGrammar, RequestTemplate
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.place import Place
from bridge.lights.power import FULL, Load, dimmed, drives_of, least_of, shares
from bridge.lights.rendering import render


@dataclass(frozen=True, slots=True)
class ReadyRequest:
    """One request, and the template that says what a good answer to it is."""

    prepared: Prepared
    template: RequestTemplate


@dataclass(frozen=True, slots=True)
class Ready:
    """The requests that leave one controller off watch, in order, and what it bears."""

    controller: Controller
    dialect: DialectGrammar
    requests: tuple[ReadyRequest, ...]


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
    return _standing(site, site.off_watch, segment, dialect)


def _standing(site: Site, scene: str, segment: Segment, dialect: Dialect) -> Look | None:
    look = choose_look(site.scenes[scene], dialect, segment.place, {}).look
    return Still(look.frames[0]) if isinstance(look, Moving) else look


def ready_requests(
    site: Site, foreign: Mapping[str, tuple[Json, ...]] | None = None
) -> tuple[Ready, ...]:
    """For every controller that has a segment which tells of a printer.

    ``foreign``: by controller, what was last read that is not the site's and has to be sent back.
    """
    dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
    telling = {segment.name: segment for segment in telling_segments(site)}
    looks = {
        name: off_watch_look(site, segment, dialects[site.controllers[segment.controller].dialect])
        for name, segment in telling.items()
    }
    scales = _scales(site, telling, looks, dialects)
    found = []
    for controller in site.controllers.values():
        dialect = dialects[controller.dialect]
        on_it = [each for each in site.segments.values() if each.controller == controller.name]
        ours = [
            (each.place, dimmed(look, scales.get(each.name, FULL)))
            for each in on_it
            if (look := looks.get(each.name)) is not None
        ]
        if ours and dialect.echoes:
            # A list of everything: what it leaves out is not sure to stay.
            ours += [
                (each.place, look)
                for each in on_it
                if each.name not in telling
                and (look := _standing(site, each.resting, each, dialect)) is not None
            ]
        requests = tuple(_requests(dialect, ours, (foreign or {}).get(controller.name, ())))
        if requests:
            found.append(Ready(controller, dialect.grammar, requests))
    return tuple(found)


def _scales(
    site: Site,
    telling: Mapping[str, Segment],
    looks: Mapping[str, Look | None],
    dialects: Mapping[str, Dialect],
) -> dict[str, int]:
    """How far each is dimmed so that its supply bears all of them, beside what is left alone."""
    scales: dict[str, int] = {}
    for supply in site.supplies.values():
        free_ua, loads = available_ua(site, supply), []
        for segment in site.segments.values():
            controller = site.controllers[segment.controller]
            if segment.controller not in supply.feeds or controller.draws is None:
                continue
            dialect, channel_ua = dialects[controller.dialect], controller.draws.channel_ua
            tells = segment.name in telling
            look = (
                looks[segment.name] if tells else _standing(site, segment.resting, segment, dialect)
            )
            if look is None:
                continue
            drives = drives_of(look, segment.place.length, dialect)
            load = Load(segment.name, drives, channel_ua, least=least_of(look, dialect))
            if tells:
                loads.append(load)
            else:
                free_ua -= load.ua(FULL)
        scales.update(shares(loads, free_ua).sixteenths)
    return scales


def _requests(
    dialect: Dialect, looks: list[tuple[Place, Look]], foreign: tuple[Json, ...]
) -> Iterator[ReadyRequest]:
    show, paint = dialect.grammar.show, dialect.grammar.paint
    natives = [(place, look) for place, look in looks if isinstance(look, Native)]
    while natives and show is not None:
        count = len(natives) if dialect.echoes else max(1, dialect.fitting(natives))
        items, natives = natives[:count], natives[count:]
        for prepared in (dialect.show(items, foreign), *dialect.after_show(items)):
            yield ReadyRequest(prepared, show)
    for place, look in looks:
        if not isinstance(look, Native) and paint is not None:
            for prepared in render(dialect, place, look):
                yield ReadyRequest(prepared, paint)
