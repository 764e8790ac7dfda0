"""What tells looks apart without their colours."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.scenes.patterns import DARK, Face, faces
from bridge.scenes.scene import BLACK, Effect, Scene

RED = (200, 0, 0)
STEADY = Scene("a", "notice", "steady", RED)


def patterns(scene: Scene, pixels: int = 12, brightness: float = 1.0) -> set[str]:
    """What it can be seen as."""
    return {face.pattern for face in faces(scene, pixels, brightness)}


def test_what_moves_how_fast_and_which_pixels_are_lit() -> None:
    """No two of these have a pattern in common."""
    looks = [
        STEADY,
        replace(STEADY, pattern="every-third"),
        replace(STEADY, effect="flash", rate="slow"),
        replace(STEADY, effect="flash", rate="normal"),
        replace(STEADY, effect="flash", rate="normal", pattern="every-third"),
        replace(STEADY, effect="swell"),
        replace(STEADY, effect="march"),
        replace(STEADY, brightness=0.0),
    ]
    found = [patterns(each) for each in looks]
    assert sum(len(each) for each in found) == len(set.union(*found)) == len(looks)


@pytest.mark.parametrize("effect", ["steady", "flash"])
def test_where_there_is_no_room_for_a_pattern_there_is_none(effect: Effect) -> None:
    """Two pixels cannot be every third."""
    thirds = replace(STEADY, effect=effect, pattern="every-third")
    assert patterns(thirds, 2) == patterns(replace(thirds, pattern="whole"), 2)


def test_a_bar_can_be_taken_for_a_plain_light() -> None:
    """While it is full, and while it is empty."""
    bar = Scene("b", "well", "gauge", (0, 200, 0), brightness=0.5, background=(0, 40, 60))
    assert Face("whole", (0, 100, 0), "colour") in faces(bar, 12)
    assert Face("whole", (0, 20, 30), "background") in faces(bar, 12)
    assert Face(DARK, BLACK, "background") in faces(replace(bar, background=BLACK), 12)


def test_the_colour_is_as_it_is_sent() -> None:
    """Dimmed, at 8 bits; and what gives no light any more is dark."""
    assert faces(STEADY, 12, 0.1) == (Face("whole", (20, 0, 0)),)
    assert faces(STEADY, 12, 0.001) == (Face(DARK, BLACK),)
