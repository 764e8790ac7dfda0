"""What is seen on a segment at one time: every look that can show there, by its pattern."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import TypeAlias

from bridge.check.meeting import Meeting, Meetings, Time
from bridge.engine.site import Segment
from bridge.scenes.alike import Alike, alike
from bridge.scenes.patterns import DARK, Face, faces
from bridge.scenes.scene import Scene

#: A look and one thing that it is seen as.
Seen: TypeAlias = tuple[Meeting, Face]


@dataclass(frozen=True)
class Stage:
    """A segment at a time."""

    segment: Segment
    time: Time
    seen: tuple[Seen, ...]

    @cached_property
    def by_pattern(self) -> dict[str, list[Seen]]:
        """What has a pattern in common."""
        found: dict[str, list[Seen]] = {}
        for meeting, face in self.seen:
            found.setdefault(face.pattern, []).append((meeting, face))
        return found


@dataclass(frozen=True, slots=True)
class Clash:
    """Two looks that are too alike on a stage."""

    alike: Alike
    one: Seen
    other: Seen
    stage: Stage


def differ(one: Meeting, other: Meeting) -> bool:
    """Whether they should: they are not the same, and one of them says something of a printer."""
    is_same = (one.scene, one.answer) == (other.scene, other.answer)
    return not is_same and (one.tells or other.tells)


def too_alike(one: Face, other: Face, below: float = 1.0) -> Alike | None:
    """Of two of the same pattern: dark is dark."""
    if one.pattern == DARK:
        return Alike("normal", 0.0) if below > 0 else None
    return alike(one.colour, other.colour, below)


def worst_clashes(on: Iterable[Stage]) -> dict[str, Clash]:
    """For each scene that is too much like another one the worst of it."""
    worst: dict[str, Clash] = {}
    share: dict[str, float] = {}
    for stage, one, other in _pairs(on):
        names = {one[0].scene, other[0].scene}
        found = too_alike(one[1], other[1], max(share.get(name, 1.0) for name in names))
        if found is None:
            continue
        for name in names:
            if found.share < share.get(name, 1.0):
                worst[name], share[name] = Clash(found, one, other, stage), found.share
    return worst


def _pairs(on: Iterable[Stage]) -> Iterator[tuple[Stage, Seen, Seen]]:
    for stage in on:
        for together in stage.by_pattern.values():
            for one, other in combinations(together, 2):
                if differ(one[0], other[0]):
                    yield stage, one, other


def stages(meetings: Meetings) -> tuple[Stage, ...]:
    """Those of a site, of several at which the same is seen the first."""
    found: dict[tuple[Seen, ...], Stage] = {}
    for segment in meetings.site.segments.values():
        there = meetings.on(segment)
        for time in meetings.times(segment):
            seen = tuple(
                (meeting, face)
                for meeting in there
                for face in faces_of(
                    meetings, segment, time, meeting, meetings.site.scenes[meeting.scene]
                )
            )
            found.setdefault(seen, Stage(segment, time, seen))
    return tuple(found.values())


def faces_of(
    meetings: Meetings, segment: Segment, time: Time, meeting: Meeting, scene: Scene
) -> tuple[Face, ...]:
    """What a scene is seen as there and then; ``scene`` need not be the legend's."""
    pixels = meetings.pixels(segment)
    found = dict.fromkeys(
        face
        for look in meetings.looks(segment, scene, meeting.answer)
        for face in faces(look, pixels, meetings.brightness(segment, time, meeting, look))
    )
    return tuple(found)
