"""What the time of day makes of scenes, through the whole core."""

from __future__ import annotations

from dataclasses import replace
from zoneinfo import ZoneInfo

from bridge.engine.dimming import Dimming
from bridge.engine.site import QuietHours, Site
from bridge.facts.moment import Moment
from bridge.lights.look import Native
from bridge.rules.day_times import DayTime, Span
from bridge.scenes.temperature import kelvin_to_colour
from tests.engine.workroom import SCENES, WALL_MS, World, heard, said, workroom

#: The workroom's clock begins at 22:13:20 UTC.
TEN, SIX = DayTime("clock", 22 * 3600), DayTime("clock", 6 * 3600)
HALF_PAST, LATER = DayTime("clock", 22 * 3600 + 1800), DayTime("clock", 23 * 3600)
HOUR_MS = 3_600_000


NIGHT = Span(TEN, SIX)


def quiet(span: Span = NIGHT, alarms: str = "full") -> Site:
    """Everything at half its brightness in that part of the day."""
    hours = QuietHours(
        "night", span, 0.5, ("s1", "s2", "s3"), "full" if alarms == "full" else "dimmed"
    )
    return replace(workroom(), quiet_hours={"night": hours})


def level(world: World, segment: str) -> float:
    """How bright a segment should be."""
    look = world.core.view().segments[segment].look
    assert isinstance(look, Native)
    return look.level


def test_scenes_are_dimmed_while_it_is_quiet() -> None:
    """And the view says by what."""
    world = World(site=quiet()).begin()
    world.run_for(3000)
    assert level(world, "s3") == SCENES["warm"].brightness / 2
    assert world.core.view().segments["s3"].dimmed_by == "to 50% by the quiet hours night"
    assert world.all_shown()


def test_what_asks_for_somebody_stays_as_bright_as_it_is() -> None:
    """Unless the site says otherwise."""
    for alarms, bright in (("full", 1.0), ("dimmed", 0.5)):
        world = World(site=quiet(alarms=alarms)).begin()
        world.feed(heard(said(snag="spool")))
        assert world.core.view().segments["s1"].scene == "feed-me"
        assert level(world, "s1") == bright


def test_it_begins_and_ends_at_its_times_and_is_no_news() -> None:
    """What is decided is the same, only darker."""
    world = World(site=quiet(Span(HALF_PAST, LATER))).begin()
    world.run_for(5000)
    assert level(world, "s3") == SCENES["warm"].brightness
    decided = len(world.notes("decided"))
    world.run_for(20 * 60_000)
    assert level(world, "s3") == SCENES["warm"].brightness / 2
    world.run_for(HOUR_MS)
    assert level(world, "s3") == SCENES["warm"].brightness
    told = [note["segment"] for note in world.notes("decided")[decided:]]
    assert "s3" not in told


def test_without_a_clock_nothing_is_dimmed() -> None:
    """A light that is too dark for a reason nobody knows hides what it says."""
    world = World(site=quiet(), wall_ms=None).begin()
    world.run_for(3000)
    assert level(world, "s3") == SCENES["warm"].brightness


def test_what_is_rested_in_changes_with_the_day() -> None:
    """And is what the site says otherwise while nobody knows the time."""
    site = workroom()
    late = replace(SCENES["warm"], name="late", brightness=0.1)
    s3 = replace(site.segments["s3"], resting_by_day=((Span(HALF_PAST, SIX), "late"),))
    site = replace(site, scenes={**SCENES, "late": late}, segments={**site.segments, "s3": s3})
    world = World(site=site).begin()
    assert world.core.view().segments["s3"].scene == "warm"
    world.run_for(20 * 60_000)
    assert world.core.view().segments["s3"].scene == "late"
    unknown = World(site=site, wall_ms=None).begin()
    unknown.run_for(HOUR_MS)
    assert unknown.core.view().segments["s3"].scene == "warm"


def test_light_grows_warmer_through_the_evening() -> None:
    """By a step now and then; without a clock it is at its warmest."""
    evening = ((TEN, 4000.0), (LATER, 2000.0))
    site = replace(workroom(), scenes={**SCENES, "warm": replace(SCENES["warm"], evening=evening)})
    world = World(site=site).begin()
    colours = []
    for _ in range(60):
        world.run_for(60_000)
        look = world.core.view().segments["s3"].look
        assert isinstance(look, Native)
        colours.append(look.colour)
    assert colours[-1] == kelvin_to_colour(2000)
    assert 20 < len(set(colours)) <= 50
    unknown = World(site=site, wall_ms=None).begin()
    shown = unknown.core.view().segments["s3"].look
    assert isinstance(shown, Native)
    assert shown.colour == kelvin_to_colour(2000)


def test_a_site_without_any_of_it_pays_nothing() -> None:
    """No deadline, and the very same scene."""
    site = replace(workroom(), zone=ZoneInfo("Europe/Dublin"))
    dimming, now = Dimming(site), Moment(0, WALL_MS)
    scene = SCENES["warm"]
    assert dimming.scene(site.segments["s3"], scene, is_alarm=False, now=now) is scene
    assert dimming.next_ms(now) is None
