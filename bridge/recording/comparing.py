"""One recording under two sets of rules: where, for how long and which way the outcome differs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bridge.engine.events import Event, Settings, Wished
from bridge.engine.site import Site
from bridge.engine.view import View
from bridge.engine.wishes import Acknowledge, Collected, Reset
from bridge.facts.moment import Moment
from bridge.facts.vocabulary import Says, gravity
from bridge.recording.deciding import Deciding
from bridge.scenes.scene import HAND_BACK


class Way(Enum):
    """Which way an outcome differs, by the gravity of what the scenes say."""

    GRAVER = "graver"
    MILDER = "milder"
    AS_GRAVE = "as grave"
    #: The segment is in one of the sites only.
    ADDED = "added"
    GONE = "gone"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What decides for a segment, and what it shows; both empty where there is no such segment."""

    rule: str = ""
    scene: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """A segment for a time; ``way`` is what the new rules are, beside the old ones."""

    segment: str
    begin: Moment
    end: Moment
    old: Outcome
    new: Outcome
    way: Way

    @property
    def lasted_ms(self) -> int:
        """For how long."""
        return self.end.ms - self.begin.ms


_NOTHING: Final = Outcome()


class Comparing:
    """Feeds two cores with the same events: the recorded settings, and ``other`` in their place."""

    def __init__(self, other: Site, digest: str) -> None:
        self._other = other
        self._old_site: Site | None = None
        self._old, self._new = Deciding(), Deciding(Settings(other, digest))
        self._open: dict[str, Difference] = {}
        self._closed: list[Difference] = []
        self._last = Moment(0)
        #: Wishes about an occurrence that there is none of with the other rules.
        self.wishes_dropped = 0

    def take(self, event: Event, moment: Moment) -> None:
        """A recorded event."""
        if isinstance(event, Settings):
            self._old_site = event.site
        else:
            self._pass_to(moment.ms)
        wished = self._mapped(event) if isinstance(event, Wished) else event
        self._old.take(event, moment)
        if wished is not None:
            self._new.take(wished, moment)
        self._compare(moment)

    def differences(self) -> tuple[Difference, ...]:
        """All of them, those that lasted to the end included, by their beginning."""
        ended = [replace(each, end=self._last) for each in self._open.values()]
        found = [each for each in (*self._closed, *ended) if each.lasted_ms > 0]
        return tuple(sorted(found, key=lambda each: (each.begin.ms, each.segment, each.end.ms)))

    def never_heard(self) -> tuple[str, ...]:
        """Addresses that the other site listens to and the recorded one did not."""
        if self._old_site is None:
            return ()
        return tuple(sorted(_addresses(self._other) - _addresses(self._old_site)))

    def _pass_to(self, ms: int) -> None:
        """What was due before, in either, in order."""
        while True:
            dues = [each for each in (self._old.deadline(), self._new.deadline()) if each]
            due = min(dues, default=ms)
            if due >= ms:
                return
            for deciding in (self._old, self._new):
                own = deciding.deadline()
                if own is not None and own <= due:
                    deciding.due(due)
            self._compare(self._last.at(due))

    def _compare(self, moment: Moment) -> None:
        self._last = moment
        old, new = self._old.shown, self._new.shown
        for name in old.keys() | new.keys():
            before, after = Outcome(*old.get(name, ())), Outcome(*new.get(name, ()))
            standing = self._open.get(name)
            if standing is not None and (standing.old, standing.new) == (before, after):
                continue
            if standing is not None:
                self._closed.append(replace(self._open.pop(name), end=moment))
            if before != after:
                way = self._way(before, after)
                self._open[name] = Difference(name, moment, moment, before, after, way)

    def _way(self, old: Outcome, new: Outcome) -> Way:
        if _NOTHING in {old, new} or self._old_site is None:
            return Way.ADDED if old == _NOTHING else Way.GONE
        before = gravity(_says(self._old_site, old.scene))
        after = gravity(_says(self._other, new.scene))
        if before == after:
            return Way.AS_GRAVE
        return Way.GRAVER if after > before else Way.MILDER

    def _mapped(self, event: Wished) -> Wished | None:
        """The same wish about the same alarm's occurrence with the other rules."""
        wish = event.wish
        if not isinstance(wish, Acknowledge | Reset | Collected):
            return event
        whose = _occurrences(self._old.view()).get(wish.occurrence)
        named = {whom: name for name, whom in _occurrences(self._new.view()).items()}
        if whose is None or whose not in named:
            self.wishes_dropped += 1
            return None
        return replace(event, wish=replace(wish, occurrence=named[whose]))


def totals(differences: tuple[Difference, ...]) -> Mapping[str, Mapping[Way, int]]:
    """By segment and way, how long together, in ms."""
    found: dict[str, dict[Way, int]] = {}
    for each in differences:
        ways = found.setdefault(each.segment, {})
        ways[each.way] = ways.get(each.way, 0) + each.lasted_ms
    return found


def _occurrences(view: View) -> dict[str, tuple[str, str, str]]:
    """By its name, of which alarm or prompt of which printer each open occurrence is."""
    found = {each.occurrence: ("alarm", each.alarm, each.printer) for each in view.alarms}
    found |= {each.occurrence: ("prompt", each.prompt, each.printer) for each in view.prompts}
    return {name: whose for name, whose in found.items() if name is not None}


def _addresses(site: Site) -> set[str]:
    return {f"{given.source} {given.address}" for p in site.printers.values() for given in p.inputs}


def _says(site: Site, scene: str) -> Says:
    return "resting" if scene == HAND_BACK else site.scenes[scene].says
