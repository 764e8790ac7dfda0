"""Which colours are too alike, and to whose eyes."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.alike import LEAST_APART, Alike, alike
from bridge.scenes.difference import difference
from bridge.scenes.eyes import SIGHTS, labs_of
from bridge.scenes.scene import Colour

CODES = st.integers(0, 255)
COLOURS = st.tuples(CODES, CODES, CODES)


def test_what_is_the_same_is_alike_to_all() -> None:
    """Normal sight is named, as it is the first."""
    assert alike((200, 10, 10), (200, 10, 10)) == Alike("normal", 0.0)


def test_black_and_white_blue_and_yellow_are_told_apart_by_all() -> None:
    """By lightness, and by the hues that every sight keeps."""
    assert alike((0, 0, 0), (255, 255, 255)) is None
    assert alike((0, 80, 255), (255, 200, 0)) is None


def test_red_and_green_are_one_to_who_lacks_one_of_their_cones() -> None:
    """As dark as each other, they are told apart by normal sight only."""
    found = alike((200, 100, 0), (110, 140, 0))
    assert found is not None
    assert found.sight in {"protanopia", "deuteranopia"}
    assert found.asked == LEAST_APART[found.sight] == 10.0
    assert found.share == found.apart / 10.0 < 1


@given(COLOURS, COLOURS)
def test_it_is_the_worst_of_all_sights(one: Colour, other: Colour) -> None:
    """By the plain reckoning, without the short cut by lightness; and either way round."""
    shares = {
        sight: difference(a, b) / LEAST_APART[sight]
        for sight, a, b in zip(SIGHTS, labs_of(one), labs_of(other), strict=True)
    }
    found = alike(one, other)
    if min(shares.values()) >= 1:
        assert found is None
    else:
        assert found is not None
        assert found.share == min(shares.values())
    back = alike(other, one)
    assert (back is None) is (found is None)
