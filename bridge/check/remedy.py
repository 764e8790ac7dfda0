"""What to write instead of a scene that is too much like another: reckoned, and tried out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from typing import Any, Final

from bridge.check.meeting import Meeting, Meetings
from bridge.check.staging import Seen, Stage, differ, faces_of, too_alike
from bridge.facts.vocabulary import gravity
from bridge.rules.alarm_states import Variant
from bridge.scenes.alike import told_apart
from bridge.scenes.light import dimmed
from bridge.scenes.nearby import nearby
from bridge.scenes.patterns import DARK, Of
from bridge.scenes.scene import BLACK, Colour, Scene
from bridge.scenes.variants import variant

#: Other patterns, the calmest first.
_PATTERNS: Final[tuple[Mapping[str, str], ...]] = (
    {"pattern": "every-third"},
    {"pattern": "whole"},
    {"effect": "flash", "rate": "slow"},
    {"effect": "flash", "rate": "slow", "pattern": "every-third"},
    {"effect": "flash", "rate": "normal"},
    {"effect": "flash", "rate": "normal", "pattern": "every-third"},
)
#: A flash calls somebody: what says less does not flash.
_CALLS: Final = gravity("act")


class Remedies:
    """Remedies for the scenes of a site. ``on`` are its stages."""

    def __init__(self, meetings: Meetings, on: Sequence[Stage]) -> None:
        self._meetings, self._stages = meetings, on

    def of(self, seen: Seen, other: Seen) -> str:
        """What to write in the scene that is seen like the other; empty where nothing helps."""
        meeting, face = seen
        scene = self._meetings.site.scenes[meeting.scene]
        where = _where(scene, meeting.answer, face.of)
        is_own = other[0].scene == meeting.scene
        if is_own:
            where = meeting.answer if meeting.answer != "normal" else other[0].answer
        elif not scene.evening and face.pattern != DARK:
            colour = self._colour(scene, where, face.of)
            if colour is not None:
                return _written(where, {face.of: f'"#{bytes(colour).hex()}"'})
        changes = self._pattern(scene, where)
        return "" if changes is None else _written(where, changes)

    def _colour(self, scene: Scene, where: Variant, of: Of) -> Colour | None:
        """The nearest of its hue that is told apart from all that it can meet."""
        tests = self._tests(scene, where, of)
        for near in nearby(getattr(variant(scene, where), of)):
            if all(_passes(dimmed(near, bright), others) for bright, others in tests.items()):
                return near
        return None

    def _tests(self, scene: Scene, where: Variant, of: Of) -> dict[float, list[Colour]]:
        """By the brightness that a new colour would have, those that it would be seen beside."""
        tests: dict[float, dict[Colour, None]] = {}
        meetings = self._meetings
        for stage, meeting in self._shows(scene):
            look = variant(scene, meeting.answer)
            if not _is_changed(scene, where, meeting.answer, of):
                continue
            bright = meetings.brightness(stage.segment, stage.time, meeting, look)
            for face in faces_of(meetings, stage.segment, stage.time, meeting, scene):
                if face.of == of:
                    others = tests.setdefault(look.brightness * bright, {})
                    others.update(_beside(scene, where, of, meeting, stage, face.pattern))
        return {bright: list(others) for bright, others in tests.items()}

    def _pattern(self, scene: Scene, where: Variant) -> Mapping[str, str] | None:
        """The calmest other pattern with which it is told apart from all that it can meet."""
        look = variant(scene, where)
        if look.effect == "gauge" or look.brightness == 0:
            return None
        for changes in _PATTERNS:
            calls = gravity(scene.says) >= _CALLS or where != "normal"
            if changes.get("effect") == "flash" and not calls:
                continue
            if all(getattr(look, key) == value for key, value in changes.items()):
                continue
            if self._fits(changed(scene, where, changes)):
                return changes
        return None

    def _fits(self, scene: Scene) -> bool:
        for stage, there in self._together(scene):
            own = [
                (meeting, face)
                for meeting in there
                for face in faces_of(self._meetings, stage.segment, stage.time, meeting, scene)
            ]
            for one in own:
                others = stage.by_pattern.get(one[1].pattern, ())
                if any(each[0].scene != scene.name and _clash(one, each) for each in others):
                    return False
            if any(_clash(*pair) for pair in combinations(own, 2)):
                return False
        return True

    def _shows(self, scene: Scene) -> Iterator[tuple[Stage, Meeting]]:
        for stage, there in self._together(scene):
            yield from ((stage, meeting) for meeting in there)

    def _together(self, scene: Scene) -> Iterator[tuple[Stage, list[Meeting]]]:
        """Where it shows, and how."""
        for stage in self._stages:
            there = dict.fromkeys(each for each, _ in stage.seen if each.scene == scene.name)
            if there:
                yield stage, list(there)


def changed(scene: Scene, where: Variant, changes: Mapping[str, Any]) -> Scene:
    """A scene with that written in it, or in what it looks like as its alarm is answered.

    Written in the scene itself, it goes on to every look that does not say it otherwise.
    """
    if where != "normal":
        looks = {**dict(scene.variants), where: replace(variant(scene, where), **changes)}
        return replace(scene, variants=tuple(looks.items()))
    looks = {
        name: replace(
            look,
            **{
                key: new
                for key, new in changes.items()
                if getattr(look, key) == getattr(scene, key)
            },
        )
        for name, look in scene.variants
    }
    return replace(scene, **changes, variants=tuple(looks.items()))


def _where(scene: Scene, answer: Variant, of: Of) -> Variant:
    """Where its colour is written: in the scene, or in that look of it."""
    own = dict(scene.variants).get(answer)
    return answer if own is not None and getattr(own, of) != getattr(scene, of) else "normal"


def _is_changed(scene: Scene, where: Variant, answer: Variant, of: Of) -> bool:
    return where in {answer, _where(scene, answer, of)}


def _beside(
    scene: Scene, where: Variant, of: Of, meeting: Meeting, stage: Stage, pattern: str
) -> Iterator[tuple[Colour, None]]:
    for each, face in stage.by_pattern.get(pattern, ()):
        is_own = each.scene == scene.name and _is_changed(scene, where, each.answer, of)
        if not is_own and differ(meeting, each):
            yield face.colour, None


def _passes(colour: Colour, others: list[Colour]) -> bool:
    if colour == BLACK:
        return False
    for number, other in enumerate(others):
        if not told_apart(colour, other):
            # What is in the way of one is in the way of its neighbours too: first next time.
            others.insert(0, others.pop(number))
            return False
    return True


def _clash(one: Seen, other: Seen) -> bool:
    is_met = one[1].pattern == other[1].pattern and differ(one[0], other[0])
    return is_met and too_alike(one[1], other[1]) is not None


def _written(where: Variant, values: Mapping[str, str]) -> str:
    """As it stands in legend.yaml."""
    words = ", ".join(f"{key}: {value}" for key, value in values.items())
    return words if where == "normal" else f"{where}: {{{words}}}"
