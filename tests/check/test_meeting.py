"""Which looks can meet on a segment, and how bright they are there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.meeting import Meeting, Meetings, Time
from bridge.engine.site import Draws, QuietHours, Site, Supply
from bridge.rules.day_times import DayTime, Span
from bridge.rules.table import alarm_stands
from tests.check.test_site import CLUB

NIGHT = Span(DayTime("clock", 22 * 3600), DayTime("clock", 7 * 3600))


def on(site: Site, segment: str) -> dict[tuple[str, str], Meeting]:
    """By scene and answer."""
    found = Meetings(site).on(site.segments[segment])
    return {(each.scene, each.answer): each for each in found}


def test_an_alarm_is_met_as_its_sequence_answers() -> None:
    """Without a reset nothing waits for one, so nothing flashes slowly for it."""
    plain = on(CLUB, "door-frame")
    assert ("trouble", "unacknowledged") in plain
    assert ("trouble", "normal") in plain  # acknowledged, it is as it is
    assert ("trouble", "returned") not in plain
    alarms = {name: replace(each, sequence="R") for name, each in CLUB.alarms.items()}
    assert ("trouble", "returned") in on(replace(CLUB, alarms=alarms), "door-frame")


def test_what_no_printer_of_a_segment_can_bring_about_is_not_met() -> None:
    """Heron gives no reasons: nothing is ever broken, and no material is out."""
    assert not any(scene in {"trouble", "feed-me"} for scene, _ in on(CLUB, "bench-left"))
    assert ("trouble", "normal") in on(CLUB, "bench-right")


def test_a_row_that_others_always_come_before_is_not_met() -> None:
    """As the analysis has it."""
    wall = CLUB.tables["wall"]
    last = replace(wall.rows[0], name="late", when=(alarm_stands("broken"),), show="warm")
    site = replace(CLUB, tables={**CLUB.tables, "wall": replace(wall, rows=(*wall.rows, last))})
    assert not on(site, "door-frame")["warm", "normal"].tells


def test_rest_holds_and_off_watch_are_met() -> None:
    """What rests or is held says nothing of a printer; off watch does."""
    site = replace(CLUB, off_watch="fetch-me")
    found = on(site, "door-sill")
    assert found["fetch-me", "normal"].tells
    assert ("fetch-me", "normal") not in on(CLUB, "door-sill")
    assert not found["dark", "normal"].tells
    assert not on(site, "door-frame")["warm", "normal"].tells
    lamp = on(site, "shelf-lamp")
    assert lamp["trouble", "unacknowledged"].is_alarm
    assert ("look-in", "normal") not in lamp


def test_quiet_hours_dim_what_is_mild() -> None:
    """And alarms where the site says so."""
    for alarms, bright in (("full", 1.0), ("dimmed", 0.3)):
        quiet = QuietHours("night", NIGHT, 0.3, ("door-frame",), alarms)  # type: ignore[arg-type]
        site = replace(CLUB, quiet_hours={"night": quiet})
        meetings, segment = Meetings(site), site.segments["door-frame"]
        assert meetings.times(segment) == (Time(), Time(quiet))
        assert meetings.times(site.segments["shelf"]) == (Time(),)
        mild, alarm = Meeting("ready", "normal"), Meeting("trouble", "normal", is_alarm=True)
        for meeting, expected in ((mild, 0.3), (alarm, bright)):
            scene = site.scenes[meeting.scene]
            assert meetings.brightness(segment, Time(quiet), meeting, scene) == expected
            assert meetings.brightness(segment, Time(), meeting, scene) == 1.0


def test_a_supply_dims_what_is_mild_first_and_nothing_to_black() -> None:
    """At worst, with every other segment at what leaves least."""
    draws = Draws(12_000, 1000)
    controllers = {name: replace(each, draws=draws) for name, each in CLUB.controllers.items()}
    supply = Supply("cabinet", 4_000_000, ("door", "rack"))
    site = replace(CLUB, controllers=controllers, supplies={"cabinet": supply})
    meetings, segment = Meetings(site), site.segments["door-frame"]

    def bright(name: str, time: Time) -> float:
        return meetings.brightness(segment, time, Meeting(name, "normal"), site.scenes[name])

    assert len(meetings.times(segment)) == 2
    assert len(meetings.times(site.segments["bench-left"])) == 1
    assert bright("filling", Time()) == 1.0
    assert bright("filling", Time(is_scarce=True)) < bright("trouble", Time(is_scarce=True)) <= 1.0
    ready = site.scenes["ready"]
    assert bright("ready", Time(is_scarce=True)) * ready.brightness * max(ready.colour) >= 0.5


def test_looks_are_as_the_controller_shows_them() -> None:
    """Without painting no pattern is left, and no bar."""
    bars = replace(CLUB.dialects["bars"], paint=None)
    site = replace(CLUB, dialects={**CLUB.dialects, "bars": bars})
    meetings, door = Meetings(site), site.segments["door-frame"]
    (thirds,) = meetings.looks(door, site.scenes["clear-me"], "normal")
    (bar,) = meetings.looks(door, site.scenes["filling"], "normal")
    assert (thirds.pattern, bar.effect) == ("whole", "steady")
    (flash,) = meetings.looks(door, site.scenes["trouble"], "unacknowledged")
    assert flash.effect == "flash"
    swell = replace(CLUB.scenes["warm"], effect="swell")
    (still,) = meetings.looks(door, swell, "normal")
    assert still.effect == "steady"
    (moves,) = Meetings(CLUB).looks(door, swell, "normal")
    assert moves.effect == "swell"


def test_an_evening_has_all_its_colours() -> None:
    """Each may be what is seen."""
    evening = ((DayTime("clock", 18 * 3600), 4000.0), (DayTime("clock", 22 * 3600), 2200.0))
    warm = replace(CLUB.scenes["warm"], evening=evening)
    looks = Meetings(CLUB).looks(CLUB.segments["door-frame"], warm, "normal")
    assert len({each.colour for each in looks}) == 2


@pytest.mark.parametrize(("share", "pixels"), [("worst", 30), ("split", 10)])
def test_a_share_has_fewer_pixels(share: str, pixels: int) -> None:
    """Three printers side by side."""
    sill = replace(CLUB.segments["door-sill"], share=share)  # type: ignore[arg-type]
    assert Meetings(CLUB).pixels(sill) == pixels
