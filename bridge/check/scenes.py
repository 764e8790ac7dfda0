"""Which scenes can show on a segment, and what they look like there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bridge.engine.site import ALL_SEGMENTS, Segment, Site
from bridge.rules.alarm import Alarm
from bridge.scenes.scene import HAND_BACK, Scene
from bridge.scenes.variants import Variant, variant

#: How a scene answers its alarm, besides as it is.
_ANSWERS: Final[tuple[Variant, ...]] = ("unacknowledged", "acknowledged", "returned")


def scenes_of(site: Site, segment: Segment) -> tuple[str, ...]:
    """Their names: the table's in its order, those of alarms that it carries, the resting one."""
    names = list(carried_scenes(site, segment))
    if segment.table is not None:
        table = site.tables[segment.table]
        names = [row.show for row in (*table.rows, table.otherwise)] + names
    # What is handed back shows its resting scene, where we have a say in it.
    return tuple(name for name in dict.fromkeys([*names, segment.resting]) if name != HAND_BACK)


def carried_scenes(site: Site, segment: Segment) -> Iterator[str]:
    """The scenes of the alarms that name the segment, at once or when they escalate."""
    return (alarm.show for alarm in carried_alarms(site, segment))


def carried_alarms(site: Site, segment: Segment) -> Iterator[Alarm]:
    """The alarms that do."""
    for alarm in site.alarms.values():
        if alarm.show and any(_is_named(site, segment, name) for name in _names(alarm)):
            yield alarm


def _is_named(site: Site, segment: Segment, name: str) -> bool:
    return name in {ALL_SEGMENTS, segment.name} or segment.name in site.sets.get(name, ())


def _names(alarm: Alarm) -> tuple[str, ...]:
    return (*alarm.segments, *(alarm.escalate.segments if alarm.escalate else ()))


def looks_of(site: Site, segment: Segment) -> Iterator[tuple[str, Scene]]:
    """Every scene, and those that show for an alarm as they answer it; ``feed-me, returned``."""
    answering = {*carried_scenes(site, segment), *_alarm_scenes(site, segment)}
    for name in scenes_of(site, segment):
        scene = site.scenes[name]
        yield name, scene
        for answer in _ANSWERS if name in answering else ():
            look = variant(scene, answer)
            if look is not scene:
                yield f"{name}, {answer}", look


def _alarm_scenes(site: Site, segment: Segment) -> Iterator[str]:
    if segment.table is not None:
        for row in site.tables[segment.table].rows:
            if row.alarm is not None:
                yield row.show
