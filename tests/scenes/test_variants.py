"""How a scene answers to its alarm."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest

from bridge.scenes.scene import Scene
from bridge.scenes.variants import Variant, variant

STEADY = Scene("feed-me", "act", "steady", (0, 0, 255), brightness=0.8)
DARK = replace(STEADY, brightness=0.0)

LOOKS = [
    ("normal", "steady", "normal"),
    ("unacknowledged", "flash", "normal"),
    ("acknowledged", "steady", "normal"),
    ("returned", "flash", "slow"),
]


@pytest.mark.parametrize(("name", "effect", "rate"), LOOKS)
def test_an_absent_variant_is_that_of_isa_18_1(name: Variant, effect: str, rate: str) -> None:
    """Flashing until somebody acknowledges, then steady, slowly flashing for a reset."""
    look = variant(STEADY, name)
    assert (look.effect, look.rate) == (effect, rate)
    assert replace(look, effect="steady", rate="normal") == STEADY


@pytest.mark.parametrize("name", get_args(Variant))
def test_a_variant_is_the_same_object_each_time(name: Variant) -> None:
    """The engine would begin a scene anew that is another one."""
    written = replace(STEADY, variants=(("returned", replace(STEADY, brightness=0.4)),))
    for scene in (STEADY, DARK, written):
        assert variant(scene, name) is variant(scene, name)


def test_what_is_as_it_was_is_the_scene_itself() -> None:
    """Even where another scene looks the same."""
    twin = replace(STEADY)
    assert variant(STEADY, "acknowledged") is STEADY
    assert variant(twin, "acknowledged") is twin
    assert variant(twin, "normal") is twin


def test_a_written_variant_is_taken() -> None:
    """And no other in its place."""
    dim = replace(STEADY, brightness=0.4)
    written = replace(STEADY, variants=(("returned", dim),))
    assert variant(written, "returned") is dim
    assert variant(written, "unacknowledged").effect == "flash"
    assert variant(written, "unacknowledged").variants == ()


@pytest.mark.parametrize("name", get_args(Variant))
def test_a_scene_that_is_dark_flashes_never(name: Variant) -> None:
    """A flash alternates two lit looks."""
    assert variant(DARK, name) is DARK
