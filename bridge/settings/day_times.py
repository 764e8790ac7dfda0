"""Times of the day that may follow the sun, and what changes with them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final, Literal

from bridge.engine.site import QuietHours, Site, segments_named
from bridge.rules.day_times import DayTime, Location, Span
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import shown
from bridge.settings.quantities import DURATION
from bridge.settings.shapes import whole
from bridge.settings.site_file import RestingAt, SiteFile
from bridge.settings.spot import Spot
from bridge.settings.times_of_day import TIME_OF_DAY_PATTERN, time_of_day

_SUN: Final = re.compile(r"(sunrise|sunset)(?:\s*([+-])\s*(\S+))?")
_EXPECTED: Final = 'expected a time such as "22:00", or sunset or sunrise, also "sunset + 30m"'


def day_time(text: object, spot: Spot) -> DayTime | None:
    """The time, or ``None`` and a problem."""
    words = str(text)
    if re.fullmatch(TIME_OF_DAY_PATTERN, words):
        seconds = time_of_day(words, spot)
        return None if seconds is None else DayTime("clock", int(seconds), words)
    found = _SUN.fullmatch(words.strip())
    if found is None:
        spot.wrong(f"is {shown(text)}, {_EXPECTED}")
        return None
    offset = 0
    if found[3] is not None:
        try:
            offset = DURATION.whole(found[3]) // 1000
        except ValueError as error:
            spot.wrong(str(error))
            return None
    base: Literal["sunrise", "sunset"] = "sunrise" if found[1] == "sunrise" else "sunset"
    return DayTime(base, -offset if found[2] == "-" else offset, words)


def span_of(begin: object, before: object, spot: Spot) -> Span | None:
    """From one time until another."""
    first, last = day_time(begin, spot.at("from")), day_time(before, spot.at("before"))
    if first is None or last is None:
        return None
    if (first.base, first.seconds) == (last.base, last.seconds):
        spot.wrong("from and before are the same time, so that it is either always or never")
        return None
    return Span(first, last)


def location_of(site: SiteFile) -> Location | None:
    """Where the sun is looked for."""
    place = site.location
    return None if place is None else Location(place.latitude, place.longitude)


def quiet_hours_of(site: SiteFile, made: Site, spot: Spot) -> dict[str, QuietHours]:
    """The quiet hours; ``made`` knows the segments and sets. Problems go to ``spot``, the top."""
    known = Names("segment", "site.yaml", frozenset({"all", *site.segments, *site.sets}))
    refuse_clashes(spot.at("quiet_hours"), site.quiet_hours)
    found: dict[str, QuietHours] = {}
    for name, keys in whole(site.quiet_hours):
        at = spot.at("quiet_hours", name)
        span = span_of(keys.start, keys.before, at)
        wanted = keys.segments or ["all"]
        named = [
            known.has(at.at("segments", n), each) for n, each in enumerate(keys.segments or ())
        ]
        if keys.brightness == 0:
            at.at("brightness").wrong("leaves nothing to see, expected more than 0 %")
        if span is None or not all(named):
            continue
        source = spot.document.key_source(at.path)
        segments = segments_named(made, wanted)
        found[name] = QuietHours(name, span, keys.brightness, segments, keys.alarms, source)
    return found


def resting_of(
    resting: str | Sequence[RestingAt] | None, spot: Spot
) -> tuple[str, tuple[tuple[Span, str], ...]]:
    """What is rested in otherwise, and what at parts of the day."""
    if resting is None or isinstance(resting, str):
        return resting or "", ()
    parts = []
    *timed, last = resting
    for index, each in enumerate(timed):
        at = spot.at(index)
        if each.start is None or each.before is None:
            at.wrong("needs from and before; only the last entry is for the rest of the day")
            continue
        span = span_of(each.start, each.before, at)
        if span is not None:
            parts.append((span, each.show))
    if last.start is not None or last.before is not None:
        spot.at(len(timed)).wrong(
            "is the last entry and has times; end with one that has none, for the rest of the day"
        )
    return last.show, tuple(parts)


def resting_scenes(
    resting: str | Sequence[RestingAt] | None,
) -> list[tuple[tuple[object, ...], str]]:
    """Every scene that is named, and where."""
    if resting is None or isinstance(resting, str):
        return [] if resting is None else [((), resting)]
    return [((index, "show"), each.show) for index, each in enumerate(resting)]


def refuse_sun_without_location(site: SiteFile, times: Iterable[DayTime], spot: Spot) -> None:
    """Where the sun is needed, somebody has to say where."""
    sunny = [str(each) for each in times if each.base != "clock"]
    if sunny and site.location is None:
        spot.wrong_key(
            f"needs 'location', as {shown(sunny[0])} is a time of the sun; write for example "
            "location: {latitude: 53.35, longitude: -6.26}"
        )
