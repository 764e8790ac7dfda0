"""Looks in words, and whether light comes out."""

from __future__ import annotations

import pytest

from bridge.lights.look import Look, Native, Still


@pytest.mark.parametrize(
    ("native", "lit"),
    [
        (Native("steady", (255, 0, 0), 0.5), True),
        (Native("steady", (0, 0, 1), 0.001), True),
        (Native("steady", (255, 0, 0), 0.0), False),
        (Native("steady", (0, 0, 0), 1.0), False),
    ],
)
def test_a_look_is_lit_when_it_has_a_colour_and_a_level(native: Native, *, lit: bool) -> None:
    """Black at full drive is as dark as red at none."""
    assert native.lit is lit


@pytest.mark.parametrize(
    ("look", "words"),
    [
        (Native("steady", (255, 42, 26), 0.6), "steady #ff2a1a at 60%"),
        (Native("flash", (42, 96, 255), 1.0, "slow"), "flash slow #2a60ff at 100%"),
        (Still(bytes(36)), "12 painted pixels"),
    ],
)
def test_a_look_reads_as_words(look: Look, words: str) -> None:
    """For the log; the rate where it matters only."""
    assert str(look) == words
