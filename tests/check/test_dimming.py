"""Quiet hours that spoil what they dim are found."""

from __future__ import annotations

from dataclasses import replace

from bridge.check.dimming import dimming_findings
from bridge.engine.site import QuietHours, Site
from bridge.rules.day_times import DayTime, Span
from tests.check.test_site import CLUB

NIGHT = Span(DayTime("clock", 22 * 3600), DayTime("clock", 7 * 3600))


def quiet(*hours: tuple[str, float, str]) -> Site:
    """The club with these quiet hours on its door."""
    made = {
        name: QuietHours(
            name, NIGHT, brightness, ("door-frame",), "full" if alarms == "full" else "dimmed"
        )
        for name, brightness, alarms in hours
    }
    return replace(CLUB, quiet_hours=made)


def messages(site: Site) -> list[str]:
    """What is found."""
    return [found.message for found in dimming_findings(site)]


def test_what_can_still_be_seen_is_fine() -> None:
    """A fifth of the light tells the same."""
    assert messages(quiet(("night", 0.2, "dimmed"))) == []
    assert messages(CLUB) == []


def test_what_gives_no_light_is_found() -> None:
    """Eight bits have an end."""
    (found,) = messages(quiet(("night", 0.001, "full")))
    assert "gives no light at all" in found
    assert "filling" in found
    assert "feed-me" not in found
    assert any("feed-me" in each for each in messages(quiet(("night", 0.001, "dimmed"))))


def test_a_flash_whose_halves_are_alike_is_found() -> None:
    """It would be taken for steady."""
    site = quiet(("night", 0.01, "dimmed"))
    see_me = replace(site.scenes["see-me"], dimmer=0.99)
    found = messages(replace(site, scenes={**site.scenes, "see-me": see_me}))
    assert any("see-me" in each and "has two halves alike" in each for each in found)
    assert not any("two halves" in each for each in messages(site))


def test_two_quiet_hours_on_one_segment_are_told() -> None:
    """The darker one counts, and that is said."""
    found = messages(quiet(("evening", 0.5, "full"), ("night", 0.3, "full")))
    (said,) = found
    assert said.startswith("quiet hours evening and night are both about door-frame")
    assert said.endswith("the darker one counts")
