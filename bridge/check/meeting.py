"""The looks that can come to show on one segment, as they come out there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from bridge.check.power import Caps
from bridge.check.scenes import carried_alarms
from bridge.check.tables import offer_for
from bridge.engine.leaving import telling_segments
from bridge.engine.site import QuietHours, Segment, Site
from bridge.facts.values import FactValue, Unknown, Why
from bridge.facts.vocabulary import gravity
from bridge.lights.desire import Kept, choose_look
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.power import FULL
from bridge.rules.alarm import Alarm
from bridge.rules.alarm_states import LOOKS, Variant
from bridge.rules.analysis import rows_deciding
from bridge.rules.table import Row, Table
from bridge.scenes.evening import at_temperature
from bridge.scenes.scene import HAND_BACK, Scene
from bridge.scenes.variants import variant

_ACT: Final = gravity("act")
_UNSEEN: Final[Variant] = "unacknowledged"


@dataclass(frozen=True, slots=True)
class Meeting:
    """A scene that can show, as it answers its alarm.

    ``tells``: it says something of a printer. What somebody holds, and what a segment rests in,
    does not. ``is_alarm``: it is as bright as an alarm is.
    """

    scene: str
    answer: Variant
    is_alarm: bool = False
    tells: bool = True


@dataclass(frozen=True, slots=True)
class Time:
    """When scenes are as bright as they then are: in quiet hours, or while supplies are scarce."""

    quiet: QuietHours | None = None
    is_scarce: bool = False

    def __str__(self) -> str:
        """In words that end a sentence."""
        quiet = f" in the quiet hours {self.quiet.name}" if self.quiet else ""
        return quiet + (" when their supply has to dim them" if self.is_scarce else "")


class Meetings:
    """What can meet on the segments of a site."""

    def __init__(self, site: Site) -> None:
        self.site = site
        self._caps = Caps(site)
        self._dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
        self._rows: dict[tuple[str, tuple[str, ...]], tuple[tuple[Row, bool], ...]] = {}

    def on(self, segment: Segment) -> tuple[Meeting, ...]:
        """Every look that can show there, once."""
        found: dict[tuple[str, Variant], Meeting] = {}
        for each in self._on(segment):
            scene = self.site.scenes[each.scene]
            answer = "normal" if variant(scene, each.answer) is scene else each.answer
            key = (each.scene, answer)
            before = found.get(key, each)
            is_alarm = before.is_alarm and each.is_alarm
            tells = before.tells or each.tells
            found[key] = Meeting(each.scene, answer, is_alarm=is_alarm, tells=tells)
        return tuple(found.values())

    def times(self, segment: Segment) -> tuple[Time, ...]:
        """Times at which what shows there is unlike bright."""
        quiet = [each for each in self.site.quiet_hours.values() if segment.name in each.segments]
        scarce = (False, True) if segment.controller in self._fed else (False,)
        return tuple(Time(each, is_scarce) for each in (None, *quiet) for is_scarce in scarce)

    def brightness(self, segment: Segment, time: Time, meeting: Meeting, scene: Scene) -> float:
        """How bright such a scene then is, of itself."""
        bright = 1.0
        if time.quiet is not None:
            matters = meeting.is_alarm or gravity(scene.says) >= _ACT
            if not (matters and time.quiet.alarms == "full"):
                bright = time.quiet.brightness
        if not time.is_scarce:
            return bright
        # No supply dims anything until it is black.
        strongest = max(*scene.colour, *scene.background) * scene.brightness
        least = min(bright, 0.5 / strongest) if strongest else bright
        return max(least, bright * self._caps.sixteenths(segment, scene) / FULL)

    def looks(self, segment: Segment, scene: Scene, answer: Variant) -> tuple[Scene, ...]:
        """What it looks like there: the colours of its evening, and what the controller can do."""
        look = variant(scene, answer)
        warm = [at_temperature(look, kelvin) for _, kelvin in look.evening] or [look]
        shown = (self._as_shown(segment, each) for each in warm)
        return tuple(each for each in shown if each is not None)

    def pixels(self, segment: Segment) -> int:
        """How many pixels each of its printers has."""
        of = len(segment.printers) if segment.share == "split" else 1
        return segment.place.length // max(1, of)

    @cached_property
    def _fed(self) -> frozenset[str]:
        return frozenset(name for each in self.site.supplies.values() for name in each.feeds)

    def _as_shown(self, segment: Segment, scene: Scene) -> Scene | None:
        dialect = self._dialects[self.site.controllers[segment.controller].dialect]
        inputs: dict[str, FactValue] = {scene.source: Unknown(Why.NOT_HEARD)}
        match choose_look(scene, dialect, segment.place, inputs).kept:
            case Kept.NOTHING:
                return None
            case Kept.NO_FLASH | Kept.NO_GAUGE | Kept.NO_MOTION:
                return replace(scene, effect="steady", pattern="whole")
            case Kept.NO_PATTERN:
                return replace(scene, pattern="whole")
            case _:
                return scene

    def _on(self, segment: Segment) -> Iterator[Meeting]:
        site = self.site
        if segment.table is not None:
            yield from self._by_table(segment, site.tables[segment.table])
        for alarm in carried_alarms(site, segment):
            for answer in _answers(alarm, (True, False)):
                yield Meeting(alarm.show, answer, is_alarm=True)
        if segment.name in self._telling:
            yield Meeting(site.off_watch, "normal")
        yield Meeting(segment.resting, "normal", tells=False)
        for _, name in segment.resting_by_day:
            yield Meeting(name, "normal", tells=False)
        for name, scene in site.scenes.items():
            # What may be held on a printer's segment; elsewhere it is anybody's own word.
            if scene.says == "resting" and scene.effect != "gauge":
                yield Meeting(name, "normal", tells=False)

    @cached_property
    def _telling(self) -> frozenset[str]:
        return frozenset(each.name for each in telling_segments(self.site))

    def _by_table(self, segment: Segment, table: Table) -> Iterator[Meeting]:
        readers = {self.site.printers[name].reader.name: name for name in segment.printers}
        key = (table.name, tuple(sorted(readers)))
        if key not in self._rows:
            printers = (self.site.printers[name] for name in readers.values())
            offers = [offer_for(self.site, printer.reader) for printer in printers]
            self._rows[key] = rows_deciding(table, offers)
        for row, is_unseen in self._rows[key]:
            if row.show == HAND_BACK:
                continue
            if row.alarm is None:
                yield Meeting(row.show, "normal")
            else:
                for answer in _answers(self.site.alarms[row.alarm], (is_unseen,)):
                    yield Meeting(row.show, answer, is_alarm=True)


def _answers(alarm: Alarm, unseen: tuple[bool, ...]) -> Iterator[Variant]:
    """How its lamp can answer, before (``True``) and after somebody acknowledged it."""
    answers = {look for (_, sequence), look in LOOKS.items() if sequence == alarm.sequence}
    for answer in sorted(answers - {"normal"}):
        if (answer == _UNSEEN) in unseen:
            yield answer
