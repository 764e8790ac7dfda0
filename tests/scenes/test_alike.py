"""Which colours are too alike, and to whom."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.alike import LEAST_APART, alike, told_apart
from bridge.scenes.eyes import SIGHTS
from bridge.scenes.scene import Colour

_CODE = st.integers(0, 255)
COLOURS = st.tuples(_CODE, _CODE, _CODE)


@given(COLOURS)
def test_a_colour_is_like_itself(colour: Colour) -> None:
    """To every sight, and not at all apart."""
    found = alike(colour, colour)
    assert found is not None
    assert found.share == 0
    assert not told_apart(colour, colour)


@given(COLOURS, COLOURS)
def test_both_ways_of_asking_agree(one: Colour, other: Colour) -> None:
    """The quick one, and how far they are; whoever is asked about first."""
    found, back = alike(one, other), alike(other, one)
    assert (found is None) is told_apart(one, other) is (back is None)
    if found is not None and back is not None:
        assert found.share == pytest.approx(back.share)
        assert found.apart < LEAST_APART[found.sight] == found.asked


@given(COLOURS, COLOURS, st.floats(0, 1))
def test_what_is_not_as_bad_need_not_be_known(one: Colour, other: Colour, below: float) -> None:
    """The same is found, or nothing where it is no worse than that."""
    found, worse = alike(one, other), alike(one, other, below)
    if found is None or found.share >= below:
        assert worse is None
    else:
        assert worse == found


@pytest.mark.parametrize(
    ("one", "other", "sight"),
    [
        ((204, 141, 0), (255, 42, 26), "deuteranopia"),
        ((153, 106, 0), (255, 42, 26), "protanopia"),
        ((0, 0, 255), (0, 60, 90), None),
        ((200, 200, 200), (200, 200, 120), "tritanopia"),
        ((100, 100, 100), (136, 136, 136), "normal"),
    ],
)
def test_each_sight_confuses_its_own(one: Colour, other: Colour, sight: str | None) -> None:
    """Amber is told from red by how light it is, to who sees no red or no green."""
    found = alike(one, other)
    assert (None if found is None else found.sight) == sight


def test_every_sight_is_asked_about() -> None:
    """And normal sight for more."""
    assert list(LEAST_APART) == [*SIGHTS]
    assert max(LEAST_APART.values()) == LEAST_APART["normal"]
