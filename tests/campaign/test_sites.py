"""What the oracle and the simulated devices believe of the site is what its files say."""

from __future__ import annotations

from random import Random

import pytest

from tests.campaign.sites import (
    CABINET,
    DIMMER,
    FRESH_MS,
    GAUGE_BACKGROUND,
    PACES,
    SCENES,
    deal,
    site_of,
    written,
)


def test_scenes() -> None:
    """Meaning, colour, brightness, motion and form."""
    scenes = written().scenes
    assert scenes.keys() == SCENES.keys()
    for name, scene in scenes.items():
        form = "gauge" if scene.effect == "gauge" else scene.pattern
        motion = scene.rate if scene.effect == "flash" else "steady"
        assert scene.dimmer == DIMMER
        assert SCENES[name] == (scene.says, scene.colour, scene.brightness, motion, form)
    assert scenes["filling"].background == GAUGE_BACKGROUND


def test_freshness() -> None:
    """How long each message counts; links and what hangs on them have no time."""
    messages = [
        message
        for printer in written().printers.values()
        for message in printer.reader.messages.values()
    ]
    fresh = {message.name: message.fresh_for_ms for message in messages}
    assert {name: ms for name, ms in fresh.items() if ms is not None} == FRESH_MS


def test_paces() -> None:
    """What each controller bears."""
    site = written()
    assert site.controllers.keys() == PACES.keys()
    for name, controller in site.controllers.items():
        dialect, pace = site.dialects[controller.dialect], PACES[name]
        limits, read = dialect.limits, dialect.read
        assert (limits.requests, limits.window_ms, limits.in_flight) == (pace.requests, 1000, 1)
        assert (limits.timeout_ms, limits.settles_in_ms) == (pace.timeout_ms, pace.settles_in_ms)
        assert (read.every_ms if read else 0, controller.pixels) == (
            pace.read_every_ms,
            pace.pixels,
        )


def test_supply() -> None:
    """What hangs on it, what it bears, and what a pixel draws."""
    site = written()
    supply = site.supplies["cabinet"]
    assert (supply.feeds, supply.limit_ua, supply.reserve_ua) == (
        CABINET.feeds,
        CABINET.limit_ua,
        0,
    )
    for name, controller in site.controllers.items():
        draws = controller.draws
        assert (draws is not None) == (name in CABINET.feeds)
        if draws is not None:
            assert (draws.channel_ua, draws.idle_ua) == (CABINET.channel_ua, CABINET.idle_ua)


@pytest.mark.parametrize("seed", range(6))
def test_segments(seed: int) -> None:
    """Each is where it is, and shows the printer that it was dealt."""
    strips = deal(Random(seed))
    site = site_of(strips)
    segments = site.segments
    assert segments.keys() == {strip.name for strip in strips}
    assert site.controllers.keys() == {strip.controller for strip in strips}
    assert bool(site.supplies) == ("hood" in site.controllers)
    for strip in strips:
        segment = segments[strip.name]
        assert (segment.controller, segment.place.first, segment.place.length) == (
            strip.controller,
            strip.first,
            strip.length,
        )
        assert segment.printers == strip.printers
        assert segment.table == (strip.table or None)
