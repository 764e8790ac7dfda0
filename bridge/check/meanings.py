"""What each scene that the lights can show means: when it shows, and what is to be done then."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bridge.check.scenes import carried_alarms
from bridge.engine.site import Segment, Site
from bridge.facts.vocabulary import Says, gravity
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.alarm_states import LOOKS
from bridge.rules.table import PROMPT_PREFIX, Row
from bridge.scenes.scene import HAND_BACK, Scene
from bridge.scenes.variants import Variant, variant

#: What a scene says, in a sentence, and what is to be done where nothing else is written.
SENTENCES: Final[dict[Says, tuple[str, str]]] = {
    "trouble": ("Something is broken", "go now"),
    "act": ("A printer waits for a person", "go to it"),
    "notice": ("Worth a walk", "go when there is time"),
    "unknown": ("Nobody knows", "go and look before you believe anything"),
    "well": ("At work", "nothing to do"),
    "resting": ("At rest", "nothing to do"),
}
#: When an alarm's scene looks so, in the order in which that happens.
_WHEN: Final[dict[Variant, str]] = {
    "unacknowledged": "new, until somebody acknowledges it",
    "acknowledged": "acknowledged",
    "returned": "over, until somebody resets it",
}
_NO_ALARM: Final = "without an alarm"
#: What shows where no rule of the site is the reason.
_OTHERWISE: Final = "anything else"
_OFF_WATCH: Final = "the bridge is stopped, and nobody watches the printers"


@dataclass(frozen=True, slots=True)
class Occasion:
    """Why a scene shows, in the site's own words where it has some."""

    what: str
    cause: str = ""
    response: str = ""


@dataclass(frozen=True, slots=True)
class Meaning:
    """A scene, its looks with when it has each, and every occasion on which it shows."""

    scene: Scene
    looks: tuple[tuple[str, Scene], ...]
    occasions: tuple[Occasion, ...]


@dataclass(frozen=True, slots=True)
class _Found:
    """A scene that can show, why, and the alarm behind it; ``is_carried``: no rule is."""

    scene: str
    occasion: Occasion
    alarm: Alarm | None = None
    is_carried: bool = False


def meanings_of(site: Site) -> tuple[Meaning, ...]:
    """Of every scene that some segment can show, or is left at; the gravest first."""
    gathered: dict[str, list[_Found]] = {}
    for found in _found(site):
        gathered.setdefault(found.scene, []).append(found)
    # Sorting keeps the order of the rules between scenes that are alike grave.
    names = sorted(gathered, key=lambda name: -gravity(site.scenes[name].says))
    return tuple(_meaning(site.scenes[name], gathered[name]) for name in names)


def _meaning(scene: Scene, gathered: Sequence[_Found]) -> Meaning:
    by_rule = {found.alarm for found in gathered if not found.is_carried}
    # What carries an alarm tells nothing that its rule has not told. And what several tables or
    # segments have alike is told once.
    told = [each for each in gathered if not (each.is_carried and each.alarm in by_rule)]
    occasions = tuple(dict.fromkeys(each.occasion for each in told))
    return Meaning(scene, tuple(_looks(scene, {each.alarm for each in gathered})), occasions)


def _looks(scene: Scene, alarms: set[Alarm | None]) -> Iterator[tuple[str, Scene]]:
    """Those that differ, with when it has each; no words for one that has only one."""
    sequences = {alarm.sequence for alarm in alarms if alarm is not None}
    shown = {look for (_, sequence), look in LOOKS.items() if sequence in sequences}
    whens: dict[Scene, list[str]] = {}
    for answer, when in _WHEN.items():
        if answer in shown:
            whens.setdefault(variant(scene, answer), []).append(when)
    if None in alarms:
        whens.setdefault(scene, []).append(_NO_ALARM)
    for look, words in whens.items():
        yield (", or ".join(words) if len(whens) > 1 else ""), look


def _found(site: Site) -> Iterator[_Found]:
    segments = site.segments.values()
    for segment in segments:
        if segment.table is not None:
            table = site.tables[segment.table]
            for row in table.rows:
                yield from _by_row(site, segment, row)
            yield from _shown(segment, table.otherwise.show, Occasion(_OTHERWISE))
    for segment in segments:
        for alarm in carried_alarms(site, segment):
            occasion = Occasion(alarm.name, alarm.cause, alarm.response)
            yield _Found(alarm.show, occasion, alarm, is_carried=True)
    for segment in segments:
        if segment.table is None:
            for name in _resting(segment):
                yield _Found(name, Occasion(f"{segment.name} rests"))
    yield _Found(site.off_watch, Occasion(_OFF_WATCH))


def _by_row(site: Site, segment: Segment, row: Row) -> Iterator[_Found]:
    alarm = site.alarms[row.alarm] if row.alarm is not None else None
    about: Alarm | Prompt | None = alarm or _prompt(site, row)
    response = about.response if about else ""
    yield from _shown(
        segment, row.show, Occasion(row.name, alarm.cause if alarm else "", response), alarm
    )


def _shown(
    segment: Segment, show: str, occasion: Occasion, alarm: Alarm | None = None
) -> Iterator[_Found]:
    """What is handed back shows its resting scene, where we have a say in it."""
    for name in _resting(segment) if show == HAND_BACK else (show,):
        yield _Found(name, occasion, alarm)


def _resting(segment: Segment) -> tuple[str, ...]:
    return (*(scene for _, scene in segment.resting_by_day), segment.resting)


def _prompt(site: Site, row: Row) -> Prompt | None:
    named = (each.fact for each in row.when if each.fact.startswith(PROMPT_PREFIX))
    return next((site.prompts[name.removeprefix(PROMPT_PREFIX)] for name in named), None)
