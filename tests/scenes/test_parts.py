"""A shared segment's pixels: everybody's own part, and a mark that needs no colour."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.values import FactValue
from bridge.scenes.frames import frame
from bridge.scenes.parts import LEAST_PIXELS, Part, fits, mark_frame, shares, split_frame
from bridge.scenes.scene import PERIOD_MS, Colour, Scene
from tests.scenes.seeing import luminance

GREEN: Colour = (0, 200, 100)
READY = Scene("ready", "well", "steady", GREEN)
ALARM = Scene("see-me", "act", "flash", (255, 200, 0), dimmer=0.25)
SILENT = Scene("not-known", "unknown", "steady", (200, 200, 200), pattern="every-third")
FILLING = Scene("filling", "well", "gauge", GREEN)


@pytest.mark.parametrize(
    ("pixels", "of", "counts"),
    [
        (9, 3, (3, 3, 3)),
        (10, 3, (3, 3, 4)),
        (11, 3, (3, 4, 4)),
        (120, 1, (120,)),
        (7, 2, (3, 4)),
    ],
)
def test_shares_are_alike(pixels: int, of: int, counts: tuple[int, ...]) -> None:
    """What does not divide goes to some of them."""
    assert shares(pixels, of) == counts


@pytest.mark.parametrize(("pixels", "fit"), [(8, False), (9, True), (10, True)])
def test_three_pixels_each_are_enough(pixels: int, fit: bool) -> None:
    """And not one fewer."""
    assert fits(pixels, 3) == fit


@given(st.integers(1, 12), st.integers(0, 2000))
def test_every_pixel_is_somebodys(of: int, pixels: int) -> None:
    """And where they fit at all, nobody has fewer than three."""
    counts = shares(pixels, of)
    assert len(counts) == of
    assert sum(counts) == pixels
    assert max(counts) - min(counts) <= 1
    assert fits(pixels, of) == (min(counts) >= LEAST_PIXELS)


PART = st.tuples(
    st.sampled_from([READY, ALARM, SILENT, FILLING]),
    st.floats(0, 1).map(lambda share: {"progress": share}) | st.just({}),
)


@given(st.lists(PART, min_size=1, max_size=5), st.integers(15, 300), st.integers(0, 10**7))
def test_each_part_looks_as_it_would_alone(
    parts: list[tuple[Scene, dict[str, FactValue]]], pixels: int, ms: int
) -> None:
    """On its own pixels, in the printers' order, at the same instant."""
    made = split_frame(parts, pixels, ms)
    start = 0
    for (scene, inputs), count in zip(parts, shares(pixels, len(parts)), strict=True):
        assert made[3 * start : 3 * (start + count)] == frame(scene, count, ms, inputs)
        start += count
    assert len(made) == 3 * pixels == 3 * start


def test_an_alarm_stays_in_its_share() -> None:
    """It flashes there, and the neighbour's pixels do not change with it."""
    parts: list[Part] = [(READY, {}), (ALARM, {}), (FILLING, {"progress": 0.5})]
    bright, dim = (split_frame(parts, 12, ms) for ms in (0, PERIOD_MS["normal"] // 2 + 1))
    changed = [pixel for pixel in range(12) if bright[3 * pixel :][:3] != dim[3 * pixel :][:3]]
    assert changed == [4, 5, 6, 7]


def light(made: bytes) -> list[float]:
    """The luminance of each pixel: what is left to somebody who sees no colours."""
    return [luminance((made[at], made[at + 1], made[at + 2])) for at in range(0, len(made), 3)]


def blocks(made: bytes) -> list[float]:
    """The luminances of the lit blocks, as somebody reads them who counts."""
    lights = [0.0, *light(made)]
    return [now for before, now in pairwise(lights) if now and not before]


@pytest.mark.parametrize("pixels", [9, 10, 11, 60, 121])
@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_mark_can_be_counted_without_colours(number: int, pixels: int) -> None:
    """As many blocks as printers, parted by dark, and one plainly brighter than the others."""
    made = mark_frame(number, 3, pixels)
    assert len(made) == 3 * pixels
    seen = blocks(made)
    assert len(seen) == 3
    meant = seen.pop(number - 1)
    assert meant > 4 * max(seen)
    assert len({tuple(made[at : at + 3]) for at in range(0, len(made), 3)}) == 3


@given(st.integers(1, 8), st.integers(0, 60))
def test_no_two_marks_are_alike(of: int, more: int) -> None:
    """On any segment that has pixels enough for them, each with white as its only colour."""
    made = {mark_frame(number, of, LEAST_PIXELS * of + more) for number in range(1, of + 1)}
    assert len(made) == of
    for each in made:
        assert each[::3] == each[1::3] == each[2::3]


@given(st.integers(1, 8), st.integers(1, 8), st.integers(0, 7))
def test_a_mark_fills_what_is_too_small_too(of: int, number: int, pixels: int) -> None:
    """Three bytes a pixel, and no error, where it cannot be told apart."""
    assert len(mark_frame(number, of, pixels)) == 3 * pixels
