"""What the oracle and the simulated devices believe of the site is what its files say."""

from __future__ import annotations

from random import Random

from tests.campaign.sites import FRESH_MS, GAUGE_BACKGROUND, PACES, SCENES, deal, site_of, written


def test_scenes() -> None:
    """Meaning, colour, brightness, motion and form."""
    scenes = written().scenes
    assert scenes.keys() == SCENES.keys()
    for name, scene in scenes.items():
        form = "gauge" if scene.effect == "gauge" else scene.pattern
        motion = scene.rate if scene.effect == "flash" else "steady"
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


def test_segments() -> None:
    """Each is where it is, and shows the printer that it was dealt."""
    strips = deal(Random(1))
    segments = site_of(strips).segments
    assert segments.keys() == {strip.name for strip in strips}
    for strip in strips:
        segment = segments[strip.name]
        assert (segment.controller, segment.place.first, segment.place.length) == (
            strip.controller,
            strip.first,
            strip.length,
        )
        assert segment.printers == strip.printers
        assert segment.table == (strip.table or None)
