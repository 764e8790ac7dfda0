"""A look on a strip: what it shows when, and after how long it begins again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.facts.values import Unknown, Why
from bridge.scenes.frames import frame
from bridge.scenes.scene import CALM_MS, PERIOD_MS, Effect, Rate, Scene
from bridge.scenes.sight import seen
from bridge.scenes.strip import ROUND_MS, ROUND_STEPS, Strip, instant_ms

STEADY = Scene("look-in", "notice", "steady", (255, 176, 0), brightness=0.6)
SLOW = replace(STEADY, effect="flash", rate="slow")
GAUGE = Scene("filling", "well", "gauge", (0, 176, 96), background=(0, 36, 26))


def test_its_pixels_are_those_of_the_frame() -> None:
    """Of the same scene at the same instant."""
    for milliseconds in (0, 624, 625, 1249, 70_000):
        assert Strip(SLOW, 7).at(milliseconds) == frame(SLOW, 7, milliseconds, {})


@pytest.mark.parametrize("rate", ["slow", "normal"])
def test_a_round_has_every_change_of_a_flash(rate: Rate) -> None:
    """One period, half of it bright, and each step shows what the strip does from then on."""
    period_ms = PERIOD_MS[rate]
    strip = Strip(replace(SLOW, rate=rate), 2)
    frames = strip.round()
    assert len(frames) * ROUND_MS == period_ms * ROUND_STEPS
    assert len(set(frames[: len(frames) // 2])) == len(set(frames[len(frames) // 2 :])) == 1
    for milliseconds in range(3 * period_ms):
        last = max(step for step in range(ROUND_STEPS) if instant_ms(step) <= milliseconds)
        assert strip.at(milliseconds) == frames[last % len(frames)]


def test_a_gauge_fills_once_in_a_round() -> None:
    """It begins with both its colours to be seen, and goes on from there."""
    strip = Strip(GAUGE, 10, "filling")
    assert strip.at(0) == frame(GAUGE, 10, 0, {"progress": 0.4})
    assert strip.at(5_000) == frame(GAUGE, 10, 0, {"progress": 0.9})
    assert strip.at(6_000) == frame(GAUGE, 10, 0, {"progress": 0.0})
    assert strip.at(ROUND_MS) == strip.at(0)
    assert len(strip.round()) == ROUND_STEPS


@pytest.mark.parametrize("effect", ["swell", "march"])
def test_what_moves_slowly_goes_round_without_a_jump(effect: Effect) -> None:
    """In its own time."""
    strip = Strip(replace(SLOW, effect=effect), 9)
    frames = strip.round()
    assert len(frames) * ROUND_MS == CALM_MS * ROUND_STEPS
    assert strip.at(CALM_MS) == frames[0] != frames[len(frames) // 2]


def test_a_gauge_of_time_fills_by_its_own_measure() -> None:
    """What fills it is all of it."""
    left = replace(GAUGE, source="time-to-completion", full_s=600.0)
    assert Strip(left, 10).at(0) == frame(left, 10, 0, {"time-to-completion": 240.0})
    assert Strip(left, 10, "filling").at(5_000) == Strip(GAUGE, 10, "filling").at(5_000)


def test_a_gauge_may_stand_or_know_nothing() -> None:
    """On paper it stands at a part."""
    assert Strip(GAUGE, 10).at(5_000) == frame(GAUGE, 10, 0, {"progress": 0.4})
    unknown = frame(GAUGE, 10, 0, {"progress": Unknown(Why.NOT_HEARD)})
    assert Strip(GAUGE, 10, "unknown").at(0) == unknown


def test_what_stands_still_has_one_frame() -> None:
    """As a round and on paper."""
    assert Strip(STEADY, 3).round() == Strip(STEADY, 3).phases() == (frame(STEADY, 3, 0, {}),)


def test_a_flash_has_two_phases_on_paper() -> None:
    """Bright, and dimmer."""
    bright, dim = frame(SLOW, 3, 0, {}), frame(SLOW, 3, 700, {})
    assert bright != dim
    assert Strip(SLOW, 3).phases() == (bright, dim)


def test_it_is_seen_as_somebody_sees_it() -> None:
    """Pixel by pixel."""
    plain, other = Strip(GAUGE, 5), Strip(GAUGE, 5, sight="deuteranopia")
    pixels = [tuple(plain.at(0)[at : at + 3]) for at in range(0, 15, 3)]
    assert other.at(0) == b"".join(
        bytes(seen((red, green, blue), "deuteranopia")) for red, green, blue in pixels
    )
    assert other.at(0) != plain.at(0)
