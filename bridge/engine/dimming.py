"""Scenes as the time of day has them: quiet hours, resting light, warmer light in the evening.

Without a known wall clock nothing is dimmed, resting light is what the site says otherwise, and an
evening's light is at its warmest: each is what disturbs least and hides nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache

from bridge.engine.site import QuietHours, Segment, Site
from bridge.facts.moment import Moment
from bridge.facts.vocabulary import gravity
from bridge.rules.day_times import Days, DayTime
from bridge.scenes.evening import at_temperature, between
from bridge.scenes.scene import Scene

_ACT = gravity("act")


class Dimming:
    """What the time of day makes of scenes. Holds no time of its own."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._days = Days(site.zone, site.location)
        self._quiet = {
            name: tuple(q for q in site.quiet_hours.values() if name in q.segments)
            for name in site.segments
        }
        self.is_needed = bool(
            site.quiet_hours
            or any(segment.resting_by_day for segment in site.segments.values())
            or any(scene.evening for scene in site.scenes.values())
        )

    def scene(self, segment: Segment, scene: Scene, *, is_alarm: bool, now: Moment) -> Scene:
        """The scene as bright and as warm as it is at this time."""
        if not self.is_needed:
            return scene
        warm = self._warm(scene, now)
        quiet = self._acting(segment, scene, is_alarm=is_alarm, now=now)
        return warm if quiet is None else _dimmed(warm, quiet.brightness)

    def words(self, segment: Segment, scene: Scene, *, is_alarm: bool, now: Moment) -> str:
        """By what it is dimmed; empty where it is not."""
        quiet = self._acting(segment, scene, is_alarm=is_alarm, now=now)
        return "" if quiet is None else f"to {quiet.brightness:.0%} by the quiet hours {quiet.name}"

    def resting(self, segment: Segment, now: Moment) -> str:
        """The resting scene of this time of day."""
        if now.wall_ms is not None:
            for span, scene in segment.resting_by_day:
                if self._days.holds(span, now.wall_ms):
                    return scene
        return segment.resting

    def next_ms(self, now: Moment) -> int | None:
        """When something of that changes, by the monotonic clock."""
        if not self.is_needed or now.wall_ms is None:
            return None
        found = [self._days.next_ms(self._times(), now.wall_ms)]
        found += [self._warmth(scene, now.wall_ms)[1] for scene in self._evenings()]
        instants = [at for at in found if at is not None]
        return now.ms + min(instants) - now.wall_ms if instants else None

    def _acting(
        self, segment: Segment, scene: Scene, *, is_alarm: bool, now: Moment
    ) -> QuietHours | None:
        """The darkest of the quiet hours that act on it now."""
        wall_ms = now.wall_ms
        if wall_ms is None or scene.brightness == 0:
            return None
        matters = is_alarm or gravity(scene.says) >= _ACT
        acting = [
            quiet
            for quiet in self._quiet[segment.name]
            if not (matters and quiet.alarms == "full") and self._days.holds(quiet.span, wall_ms)
        ]
        return min(acting, key=lambda quiet: (quiet.brightness, quiet.name), default=None)

    def _warm(self, scene: Scene, now: Moment) -> Scene:
        if not scene.evening:
            return scene
        if now.wall_ms is None:
            return at_temperature(scene, min(kelvin for _, kelvin in scene.evening))
        return at_temperature(scene, self._warmth(scene, now.wall_ms)[0])

    def _warmth(self, scene: Scene, wall_ms: int) -> tuple[float, int | None]:
        kelvins = dict(scene.evening)
        points = [(at, kelvins[when]) for at, when in self._comings(kelvins, wall_ms)]
        return between(points, wall_ms)

    def _comings(self, times: Iterable[DayTime], wall_ms: int) -> Iterator[tuple[int, DayTime]]:
        return self._days.last_and_next(times, wall_ms)

    def _evenings(self) -> Iterator[Scene]:
        return (scene for scene in self._site.scenes.values() if scene.evening)

    def _times(self) -> Iterator[DayTime]:
        for quiet in self._site.quiet_hours.values():
            yield from (quiet.span.begin, quiet.span.end)
        for segment in self._site.segments.values():
            for span, _ in segment.resting_by_day:
                yield from (span.begin, span.end)


@lru_cache(1024)
def _dimmed(scene: Scene, brightness: float) -> Scene:
    return replace(scene, brightness=scene.brightness * brightness)
