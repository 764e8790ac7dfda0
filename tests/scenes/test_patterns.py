"""What tells looks apart without colour."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from bridge.facts.values import Unknown, Why
from bridge.scenes.frames import frame
from bridge.scenes.patterns import DARK, Face, faces
from bridge.scenes.scene import BLACK, Colour, Scene

RED: Colour = (200, 0, 0)
GREEN: Colour = (0, 100, 0)
STEADY = Scene("x", "well", "steady", RED)
LOOKS = {
    "steady": STEADY,
    "thirds": replace(STEADY, pattern="every-third"),
    "slow": replace(STEADY, effect="flash", rate="slow"),
    "normal": replace(STEADY, effect="flash", rate="normal"),
    "slow thirds": replace(STEADY, effect="flash", rate="slow", pattern="every-third"),
    "dark": replace(STEADY, brightness=0.0),
}
GAUGE = replace(STEADY, effect="gauge", background=GREEN)


@pytest.mark.parametrize(("one", "other"), [*combinations(LOOKS, 2)])
def test_each_has_a_pattern_of_its_own(one: str, other: str) -> None:
    """A flash, its rate, which pixels are lit, and dark against lit."""
    patterns = [{face.pattern for face in faces(LOOKS[each], 30)} for each in (one, other)]
    assert not patterns[0] & patterns[1]


def test_a_bar_at_its_ends_is_a_plain_light() -> None:
    """Full it is all of its colour, empty all of its background, as its frames are."""
    assert set(faces(GAUGE, 30)) == {
        Face("whole", RED, "colour"),
        Face("whole", GREEN, "background"),
        Face("every-third", RED, "colour"),
    }
    assert frame(GAUGE, 30, 0, {"progress": 1.0}) == bytes(RED) * 30
    assert frame(GAUGE, 30, 0, {"progress": 0.0}) == bytes(GREEN) * 30
    unknown = frame(GAUGE, 30, 0, {"progress": Unknown(Why.NOT_HEARD)})
    assert unknown.count(bytes(RED)) == 10


def test_a_bar_without_a_trough_begins_dark() -> None:
    """So that it can be taken for a light that is out."""
    patterns = {face.pattern for face in faces(replace(GAUGE, background=BLACK), 30)}
    assert patterns == {"whole", DARK, "every-third"}


@pytest.mark.parametrize("pixels", [1, 2])
def test_too_few_pixels_hold_no_pattern(pixels: int) -> None:
    """One or two lit ones may be all there are."""
    assert faces(LOOKS["thirds"], pixels) == faces(STEADY, pixels)


def test_an_effect_that_is_new_is_a_pattern_of_its_own() -> None:
    """Whatever it does; its colour still counts beside its like."""
    new = replace(STEADY, effect="glimmer")  # type: ignore[arg-type]
    assert faces(new, 30) == (Face("glimmer, whole", RED),)


def test_what_is_dimmed_to_nothing_is_dark() -> None:
    """At 8 bits; before that it is as it is sent."""
    assert faces(STEADY, 30, 0.001) == (Face(DARK, BLACK),)
    assert faces(replace(STEADY, brightness=0.5), 30, 0.01) == (Face("whole", (1, 0, 0)),)
