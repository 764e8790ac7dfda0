"""The looks that can come to show on a segment."""

from __future__ import annotations

from dataclasses import replace

from bridge.check.meeting import Meeting, Meetings, Time
from bridge.engine.site import Draws, QuietHours, Supply
from bridge.lights.dialect.grammar import DialectGrammar
from bridge.rules.day_times import DayTime, Span
from bridge.scenes.scene import Scene
from tests.check.test_site import CLUB

NIGHT = Span(DayTime("clock", 22 * 3600), DayTime("clock", 7 * 3600))


def names(segment: str) -> set[tuple[str, str]]:
    """Scene and answer of each that can show there."""
    return {(each.scene, each.answer) for each in Meetings(CLUB).on(CLUB.segments[segment])}


def test_what_the_table_of_a_segment_can_show() -> None:
    """Its alarms as they are answered, its rules, and what may be held there."""
    found = names("door-frame")
    assert ("feed-me", "unacknowledged") in found
    assert ("feed-me", "normal") in found
    assert {("filling", "normal"), ("not-known", "normal"), ("dark", "normal")} <= found


def test_a_segment_that_tells_of_nobody_rests() -> None:
    """In what says resting, and in nothing else but the alarms that it may carry."""
    plain = {scene for scene, _ in names("shelf-lamp")}
    assert {"dark", "warm", "ready"} <= plain
    assert "filling" not in plain


def test_what_is_held_or_rested_in_tells_nothing() -> None:
    """Only what a rule shows does."""
    by_scene = {each.scene: each for each in Meetings(CLUB).on(CLUB.segments["door-frame"])}
    assert by_scene["filling"].tells
    assert not by_scene["warm"].tells


def test_quiet_hours_are_times_of_their_own() -> None:
    """Alarms, and what says act, stay as they are where the hours say so."""
    quiet = QuietHours("night", NIGHT, 0.2, ("door-frame",), "full")
    site = replace(CLUB, quiet_hours={"night": quiet})
    meetings, door = Meetings(site), site.segments["door-frame"]
    assert meetings.times(site.segments["shelf"]) == (Time(),)
    plain, night = meetings.times(door)
    assert (plain, night) == (Time(), Time(quiet))
    assert str(night) == " in the quiet hours night"
    look, alarm = site.scenes["look-in"], site.scenes["feed-me"]
    assert meetings.brightness(door, night, Meeting("look-in", "normal"), look) == 0.2
    assert meetings.brightness(door, night, Meeting("feed-me", "normal"), alarm) == 1.0
    assert meetings.brightness(door, plain, Meeting("look-in", "normal"), look) == 1.0


def test_a_supply_makes_times_at_which_it_is_scarce() -> None:
    """What it feeds may then be dimmed."""
    door = replace(CLUB.controllers["door"], draws=Draws(12_000, 1_000))
    site = replace(
        CLUB,
        controllers={**CLUB.controllers, "door": door},
        supplies={"cabinet": Supply("cabinet", 900_000, ("door",))},
    )
    meetings, segment = Meetings(site), site.segments["door-frame"]
    plain, scarce = meetings.times(segment)
    assert (plain.is_scarce, scarce.is_scarce) == (False, True)
    look = site.scenes["look-in"]
    assert meetings.brightness(segment, scarce, Meeting("look-in", "normal"), look) < 1
    assert meetings.brightness(segment, plain, Meeting("look-in", "normal"), look) == 1


def test_looks_are_what_the_controller_can_show() -> None:
    """Without painting a pattern is none, and a bar stands still."""
    segment = CLUB.segments["door-frame"]
    name = CLUB.controllers[segment.controller].dialect
    blind: DialectGrammar = replace(CLUB.dialects[name], paint=None, read_paint=None)
    site = replace(CLUB, dialects={**CLUB.dialects, name: blind})

    def look(scene: str) -> Scene:
        (found,) = Meetings(site).looks(segment, site.scenes[scene], "normal")
        return found

    assert look("not-known").pattern == "whole"
    assert look("filling").effect == "steady"
    (whole,) = Meetings(CLUB).looks(segment, CLUB.scenes["not-known"], "normal")
    assert whole.pattern == "every-third"


def test_printers_that_share_a_segment_have_fewer_pixels_each() -> None:
    """A share each."""
    sill = CLUB.segments["door-sill"]
    of = len(sill.printers)
    meetings = Meetings(CLUB)
    assert meetings.pixels(replace(sill, share="split")) == sill.place.length // of
    assert meetings.pixels(sill) == sill.place.length
