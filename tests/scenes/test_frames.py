"""A scene's pixels: exact at every length, and unknown is never mistaken for a proportion."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.facts.values import FactValue, Unknown, Why
from bridge.scenes.frames import frame
from bridge.scenes.light import LIGHT
from bridge.scenes.oklab import oklab_of
from bridge.scenes.scene import CALM_MS, PERIOD_MS, Colour, Rate, Scene
from tests.scenes.seeing import luminance

GREEN: Colour = (0, 200, 100)
STEADY = Scene("ready", "well", "steady", GREEN, brightness=0.5)
FLASH = Scene("see-me", "act", "flash", GREEN, brightness=1.0, dimmer=0.25)
GAUGE = Scene("filling", "well", "gauge", GREEN)

LIT, HALF, DIM, DARK = "00c864", "006432", "003219", "000000"


def pixels(scene: Scene, count: int, ms: int = 0, progress: FactValue | None = None) -> list[str]:
    """The frame, a text a pixel."""
    inputs: dict[str, FactValue] = {} if progress is None else {"progress": progress}
    text = frame(scene, count, ms, inputs).hex()
    return [text[start : start + 6] for start in range(0, len(text), 6)]


@pytest.mark.parametrize("count", [1, 2, 60, 2000])
def test_steady_light_is_even(count: int) -> None:
    """Every pixel the colour at its brightness, at any time."""
    assert pixels(STEADY, count) == [HALF] * count
    assert pixels(STEADY, count, 123_456_789) == [HALF] * count


BRIGHTNESS = [(0.0, 0), (0.001, 0), (0.002, 1), (0.5, 128), (0.498, 127), (0.996, 254), (1.0, 255)]


@pytest.mark.parametrize(("brightness", "code"), BRIGHTNESS)
def test_brightness_is_a_proportion_of_the_code(brightness: float, code: int) -> None:
    """Times the code value, a half upwards."""
    scene = replace(STEADY, colour=(255, 0, 0), brightness=brightness)
    assert frame(scene, 1, 0, {}) == bytes([code]) + b"\0\0"


PATTERNS = [
    (1, [HALF]),
    (2, [HALF, DARK]),
    (3, [HALF, DARK, DARK]),
    (4, [HALF, DARK, DARK, HALF]),
    (7, [HALF, DARK, DARK, HALF, DARK, DARK, HALF]),
]


@pytest.mark.parametrize(("count", "expected"), PATTERNS)
def test_every_third_pixel_is_lit(count: int, expected: list[str]) -> None:
    """The first of each three, so that a single pixel is lit."""
    assert pixels(replace(STEADY, pattern="every-third"), count) == expected


HALVES: list[tuple[Rate, int, bool]] = [
    ("normal", 0, True),
    ("normal", 312, True),
    ("normal", 313, False),
    ("normal", 624, False),
    ("normal", 625, True),
    ("slow", 624, True),
    ("slow", 625, False),
    ("slow", 1249, False),
    ("slow", 1250, True),
    ("slow", 1_250_000_000_624, True),
]


@pytest.mark.parametrize(("rate", "ms", "bright"), HALVES)
def test_a_flash_alternates_two_lit_looks(rate: Rate, ms: int, bright: bool) -> None:
    """Half of the period bright, half dimmer, never black."""
    scene = replace(FLASH, rate=rate)
    assert pixels(scene, 2, ms) == [LIT if bright else DIM] * 2


@pytest.mark.parametrize("rate", ["slow", "normal"])
def test_both_halves_are_alike(rate: Rate) -> None:
    """As many milliseconds bright as dimmer, to one."""
    scene = replace(FLASH, rate=rate)
    period = PERIOD_MS[rate]
    bright = sum(pixels(scene, 1, ms) == [LIT] for ms in range(period))
    assert abs(2 * bright - period) <= 1


def test_a_flash_keeps_its_pattern() -> None:
    """The dimmer half has the same pixels lit."""
    scene = replace(FLASH, pattern="every-third")
    assert pixels(scene, 4, 400) == [DIM, DARK, DARK, DIM]


FILLED = [
    (0.0, 4, [DARK] * 4),
    (0.25, 4, [LIT, DARK, DARK, DARK]),
    (0.5, 4, [LIT, LIT, DARK, DARK]),
    (1.0, 4, [LIT] * 4),
    (1, 4, [LIT] * 4),
    (0, 1, [DARK]),
    (1.0, 1, [LIT]),
]


@pytest.mark.parametrize(("progress", "count", "expected"), FILLED)
def test_a_gauge_fills(progress: float, count: int, expected: list[str]) -> None:
    """So many of the pixels, from the first."""
    assert pixels(GAUGE, count, 0, progress) == expected
    backward = replace(GAUGE, direction="backward")
    assert pixels(backward, count, 0, progress) == expected[::-1]


@settings(deadline=None)
@given(st.floats(0, 1), st.integers(1, 200))
def test_a_gauge_gives_light_in_proportion(progress: float, count: int) -> None:
    """All pixels' light together is the proportion of full, to the step of one code."""
    scene = replace(GAUGE, colour=(0, 255, 0))
    light = sum(LIGHT[code] for code in frame(scene, count, 0, {"progress": progress})[1::3])
    assert light == pytest.approx(progress * count, abs=0.005)


@settings(deadline=None)
@given(st.floats(0, 1), st.floats(0, 1), st.integers(1, 60))
def test_more_progress_is_never_less_light(one: float, other: float, count: int) -> None:
    """A gauge only grows with its input."""
    low, high = sorted((one, other))
    scene = replace(GAUGE, background=(0, 20, 10))
    less, more = (frame(scene, count, 0, {"progress": share}) for share in (low, high))
    assert all(a <= b for a, b in zip(less, more, strict=True))


def test_the_background_is_dimmed_too() -> None:
    """Brightness is of the whole scene."""
    scene = replace(GAUGE, brightness=0.5, background=(100, 100, 100))
    assert pixels(scene, 2, 0, 0.5) == [HALF, "323232"]


UNKNOWN: list[FactValue | None] = [
    None,
    Unknown(Why.NOT_FRESH),
    "half",
    True,
    math.nan,
    -0.001,
    1.001,
    math.inf,
]


@pytest.mark.parametrize("value", UNKNOWN)
def test_an_unknown_input_has_a_look_of_its_own(value: FactValue | None) -> None:
    """Not a proportion, a flag, a text, or outside 0..1: all are unknown, none is clamped."""
    assert pixels(GAUGE, 5, 0, value) == [DARK, LIT, DARK, DARK, LIT]
    backward = replace(GAUGE, direction="backward")
    assert pixels(backward, 5, 0, value) == [LIT, DARK, DARK, LIT, DARK]


COLOURS = st.tuples(st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))


@settings(deadline=None, max_examples=400)
@given(
    COLOURS, COLOURS, st.integers(2, 40), st.floats(0, 1), st.sampled_from(["forward", "backward"])
)
def test_unknown_is_no_proportion(
    colour: Colour,
    background: Colour,
    count: int,
    progress: float,
    direction: Any,  # noqa: ANN401
) -> None:
    """Two pixels or more: no input makes a gauge look as it looks where its input is unknown."""
    if colour == background:
        return  # then a gauge shows nothing at all
    scene = Scene("f", "well", "gauge", colour, background=background, direction=direction)
    assert frame(scene, count, 0, {}) != frame(scene, count, 0, {"progress": progress})


@pytest.mark.parametrize("step", range(101))
def test_a_single_unknown_pixel_is_no_proportion(step: int) -> None:
    """It is grey, which a coloured gauge never is."""
    assert frame(GAUGE, 1, 0, {}) == bytes([85, 85, 85])
    assert frame(GAUGE, 1, 0, {"progress": step / 100}) != frame(GAUGE, 1, 0, {})


@settings(deadline=None)
@given(
    st.sampled_from(["steady", "flash", "gauge"]),
    st.sampled_from(["whole", "every-third"]),
    st.integers(1, 300),
    st.integers(0, 10**9),
    st.floats(0, 1) | st.none(),
    st.floats(0, 1),
)
def test_a_frame_has_three_bytes_a_pixel(
    effect: Any,  # noqa: ANN401
    pattern: Any,  # noqa: ANN401
    count: int,
    ms: int,
    progress: float | None,
    brightness: float,
) -> None:
    """Always, whatever the scene; and the same call gives the same frame."""
    scene = Scene("s", "well", effect, GREEN, brightness=brightness, pattern=pattern)
    inputs: dict[str, FactValue] = {} if progress is None else {"progress": progress}
    made = frame(scene, count, ms, inputs)
    assert len(made) == 3 * count
    assert made == frame(scene, count, ms, inputs)


def test_one_pixel_tells_the_effects_apart() -> None:
    """Steady, flashing and a half-full gauge of one colour differ over a period."""
    looks = {
        tuple(frame(scene, 1, ms, {"progress": 0.5}) for ms in (0, 400))
        for scene in (replace(STEADY, brightness=1.0), FLASH, GAUGE)
    }
    assert len(looks) == 3


def test_the_end_of_a_gauge_is_mixed_in_light() -> None:
    """Half a pixel of white is code 188, half the light of white; 128 would be a fifth."""
    scene = replace(GAUGE, colour=(255, 255, 255))
    (half,) = {*frame(scene, 1, 0, {"progress": 0.5})}
    assert half == 188
    assert luminance((half, half, half)) == pytest.approx(0.5, abs=0.005)


SWELL = Scene("quiet", "well", "swell", GREEN)
MARCH = Scene("busy", "well", "march", GREEN, background=(0, 20, 10))
LEFT = Scene("left", "well", "gauge", GREEN, source="time-to-completion", full_s=3600.0)


def test_a_swell_goes_down_and_up_again() -> None:
    """Full at first, its least at half, and the same after a whole one; never dark."""
    assert pixels(SWELL, 2) == pixels(SWELL, 2, CALM_MS) == [LIT] * 2
    assert pixels(SWELL, 2, CALM_MS // 2) == [DIM] * 2
    assert pixels(replace(SWELL, pattern="every-third"), 4, CALM_MS // 2) == [DIM, DARK, DARK, DIM]


def test_a_swell_looks_even() -> None:
    """Its lightness is a wave: so far from its least as the cosine says, within 8 bits."""
    most, least = (oklab_of(each)[0] for each in (GREEN, (0, 50, 25)))
    for ms in range(0, CALM_MS, 50):
        colour = frame(SWELL, 1, ms, {})
        share = (oklab_of((colour[0], colour[1], colour[2]))[0] - least) / (most - least)
        assert share == pytest.approx((1 + math.cos(2 * math.pi * ms / CALM_MS)) / 2, abs=0.03)


@given(st.integers(3, 300), st.integers(0, 10**9))
def test_a_march_gives_the_same_light_wherever_it_is(count: int, ms: int) -> None:
    """A quarter of the pixels, a single one at least, and the background over the rest."""
    found = frame(MARCH, count, ms, {})
    lit = sum(LIGHT[code] for code in found[1::3])
    block = max(1.0, count / 4)
    assert lit == pytest.approx(block * LIGHT[200] + (count - block) * LIGHT[20], abs=0.02)


@pytest.mark.parametrize("count", [3, 4, 8, 60])
def test_a_march_that_stands_still_is_no_gauge(count: int) -> None:
    """A gauge begins at an end."""
    first, *_, last = pixels(MARCH, count)
    assert first == last == "00140a"


def test_a_march_goes_along_and_comes_round() -> None:
    """The other way too; after half of it, it is at the ends."""
    begun, later = pixels(MARCH, 8), pixels(MARCH, 8, CALM_MS // 8)
    assert [begun.index(LIT), later.index(LIT)] == [3, 4]
    assert pixels(MARCH, 8, CALM_MS) == begun
    back = replace(MARCH, direction="backward")
    assert pixels(back, 8, CALM_MS // 8) == later[::-1]
    assert pixels(MARCH, 8, CALM_MS // 2)[0] == pixels(MARCH, 8, CALM_MS // 2)[-1] == LIT


@pytest.mark.parametrize("count", [1, 2])
def test_where_there_is_no_room_to_march_it_swells(count: int) -> None:
    """Between its colour and its background."""
    assert pixels(MARCH, count) == [LIT] * count
    assert pixels(MARCH, count, CALM_MS // 2) == ["00140a"] * count


@given(st.integers(3, 200), st.integers(0, CALM_MS))
def test_a_march_does_not_leap(count: int, ms: int) -> None:
    """In a hundredth of its way no pixel changes by more than its share of light."""
    one, other = (frame(MARCH, count, at, {}) for at in (ms, ms + CALM_MS // 100))
    moved = sum(abs(LIGHT[a] - LIGHT[b]) for a, b in zip(one[1::3], other[1::3], strict=True))
    assert moved <= 2 * (count / 100) * LIGHT[200] + 0.02


TIMES_LEFT: list[tuple[FactValue, list[str]]] = [
    (0.0, [DARK] * 4),
    (1800.0, [LIT, LIT, DARK, DARK]),
    (3600.0, [LIT] * 4),
    (9999.0, [LIT] * 4),
]


@pytest.mark.parametrize(("value", "expected"), TIMES_LEFT)
def test_a_gauge_of_the_time_left_runs_down(value: FactValue, expected: list[str]) -> None:
    """What takes longer than fills it is full."""
    assert frame(LEFT, 4, 0, {"time-to-completion": value}).hex() == "".join(expected)


@pytest.mark.parametrize("value", [-1.0, Unknown(Why.NOT_HEARD), "1800", True])
def test_a_time_left_that_nobody_knows_is_no_time(value: FactValue) -> None:
    """It has the look of the unknown."""
    assert frame(LEFT, 6, 0, {"time-to-completion": value}) == frame(LEFT, 6, 0, {})
    assert frame(LEFT, 6, 0, {}) != frame(LEFT, 6, 0, {"time-to-completion": 0.0})


def test_ticks_divide_a_gauge() -> None:
    """A gap where it is filled, a faint light where it is not, at the end of each part."""
    ticked = replace(GAUGE, ticks=4, background=(0, 20, 10))
    found = pixels(ticked, 12, progress=0.5)
    plain = pixels(replace(ticked, ticks=0), 12, progress=0.5)
    marked = [at for at in range(12) if found[at] != plain[at]]
    assert marked == [2, 5, 8]
    assert found[2] == found[5] == "00140a"
    assert 20 < int(found[8][2:4], 16) < 200
    assert pixels(replace(ticked, direction="backward"), 12, progress=0.5) == found[::-1]


def test_ticks_need_room() -> None:
    """A gauge shorter than its parts has those that it has pixels for."""
    ticked = replace(GAUGE, ticks=4, background=(0, 20, 10))
    assert len(frame(ticked, 1, 0, {"progress": 1.0})) == 3
    assert pixels(ticked, 1, progress=1.0) == [LIT]
