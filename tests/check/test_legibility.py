"""Scenes that can be taken for one another are found, once each, with what to write instead."""

from __future__ import annotations

from dataclasses import replace

from bridge.check.finding import Kind
from bridge.check.legibility import legibility_findings
from bridge.engine.site import QuietHours, Site
from bridge.rules.day_times import DayTime, Span
from bridge.scenes.scene import Colour
from tests.check.test_site import CLUB

NIGHT = Span(DayTime("clock", 22 * 3600), DayTime("clock", 7 * 3600))


def recoloured(**colours: Colour) -> Site:
    """The club with some scenes in other colours, each as bright as the others."""
    scenes = {
        name: replace(CLUB.scenes[name], colour=new, brightness=0.6)
        for name, new in colours.items()
    }
    return replace(CLUB, scenes={**CLUB.scenes, **scenes})


def about(site: Site) -> dict[str, str]:
    """What is said, by scene."""
    found = list(legibility_findings(site))
    assert {each.kind for each in found} <= {Kind.TOO_ALIKE}
    assert {each.severity for each in found} <= {"warning"}
    said = {name: each.message for each in found for _, name in each.about}
    assert len(said) == len(found)
    return said


def test_no_scene_of_the_example_can_be_taken_for_another() -> None:
    """Every pair that can meet is told apart by every sight."""
    assert about(CLUB) == {}


def test_two_of_one_colour_and_pattern_are_told_with_their_worst() -> None:
    """Each of them, on the segment where they meet, and to whose eyes."""
    said = about(recoloured(**{"look-in": CLUB.scenes["fetch-me"].colour}))
    assert {"look-in", "fetch-me"} <= said.keys()
    assert "can be taken for fetch-me on door-frame" in said["look-in"]
    assert "the pattern (whole) is the same" in said["look-in"]
    assert "(CIEDE2000), where we ask for" in said["look-in"]
    assert "; write " in said["look-in"]


def test_red_and_green_are_too_alike_to_some() -> None:
    """Who sees no red, or no green, is named."""
    site = recoloured(**{"look-in": (200, 100, 0), "fetch-me": (160, 190, 0)})
    said = " ".join(about(site).values())
    assert "who sees no" in said


def test_what_is_told_apart_by_day_may_not_be_at_night() -> None:
    """At 8 bits, after quiet hours; and that hour is named."""
    site = replace(
        CLUB, quiet_hours={"night": QuietHours("night", NIGHT, 0.02, ("door-frame",), "dimmed")}
    )
    said = about(site)
    assert said
    assert all("in the quiet hours night" in each for each in said.values())
