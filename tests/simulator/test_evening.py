"""The evening: the same story at any length, told by the printers of the example site."""

from __future__ import annotations

import itertools

import pytest

from bridge.simulator.evening import (
    BUTTONS,
    LOST_WRITES,
    REFUSED_REQUESTS,
    controllers,
    evening,
    mishaps,
    presses,
)
from bridge.simulator.life import Closed, Doing, Snag
from bridge.simulator.reference import SEGMENTS


def test_the_evening_has_everything_in_it() -> None:
    """Every doing, a snag with and one without a person's help, and every end of a piece."""
    printers = evening(60)
    lives = [printers.kestrel.life, printers.plover.life, printers.heron.life]
    stretches = [stretch for life in lives for _, stretch in life.stretches]
    assert {stretch.doing for stretch in stretches} == set(Doing)
    assert {stretch.closed for stretch in stretches} == {*Closed, None}
    assert {Snag.SPOOL, Snag.FEED} <= {stretch.snag for stretch in stretches}


@pytest.mark.parametrize("seconds", [30, 60, 600])
def test_the_evening_fills_its_time(seconds: float) -> None:
    """Each life is as long as the evening, give or take the rounding."""
    printers = evening(seconds)
    for printer in (printers.kestrel, printers.plover, printers.heron):
        start_ms, last = printer.life.stretches[-1]
        assert start_ms + last.lasts_ms == pytest.approx(seconds * 1000, abs=10)


def test_mishaps_come_in_order() -> None:
    """Each of a controller that exists, within the evening, at half the time in half of it."""
    full, half = mishaps(60), mishaps(30)
    assert [one.at_ms for one in full] == sorted(one.at_ms for one in full)
    assert {one.controller for one in full} <= set(controllers())
    assert all(one.at_ms < 60_000 for one in full)
    assert [one.at_ms // 2 for one in full] == [one.at_ms for one in half]


def test_buttons_are_pressed_in_order() -> None:
    """Each that there is, once there is something to acknowledge or to collect."""
    full, half = presses(60), presses(30)
    assert {one.button for one in full} == set(BUTTONS)
    assert [one.at_ms for one in full] == sorted(one.at_ms for one in full)
    assert [one.at_ms // 2 for one in full] == [one.at_ms for one in half]
    kestrel = evening(60).kestrel.life
    assert kestrel.at(full[0].at_ms).snag is Snag.SPOOL
    assert kestrel.at(full[1].at_ms - 1).closed is Closed.SOUND


def test_a_mishap_reads_as_a_sentence() -> None:
    """What the demo prints of it."""
    assert [str(one) for one in mishaps(60)] == [
        f"door says yes to its next {LOST_WRITES} writes and loses them",
        "bench loses its power for a moment and forgets everything",
        f"rack answers its next {REFUSED_REQUESTS} requests with 500",
    ]


def test_the_segments_fit_the_runs() -> None:
    """None reaches past its run, no two share a pixel, none leaves a pixel out."""
    for name, controller in controllers().items():
        runs = sorted((s.first, s.first + s.length) for s in SEGMENTS if s.controller == name)
        assert runs[0][0] == 0
        assert runs[-1][1] == len(controller.pixels(0)) // 3
        assert all(end == start for (_, end), (start, _) in itertools.pairwise(runs))
