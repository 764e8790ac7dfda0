"""The dialect of the beads: what is told, what is given off, what is told back."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.simulator.beads import Beads, cell_of, tint_of

#: Red 1, green 2, blue 3, green first.
TINT = 0x020103


def set_beads(beads: Beads, **changes: str) -> int:
    """Tint beads 5 and 6, but for these changes; the status."""
    query = {"from": "5", "to": "6", "tint": str(TINT), "lit": "yes", "habit": "still"} | changes
    return beads.handle("POST", "/beads", query, {}, b"", 0)[0]


def string(beads: Beads, wish: object) -> int:
    """Lay beads one by one; the status."""
    return beads.handle("POST", "/beads/string", {}, {}, json.dumps(wish).encode(), 0)[0]


def look(beads: Beads, first: int, last: int, now_ms: int = 0) -> Any:  # noqa: ANN401 - any JSON
    """What a stretch is told to be."""
    query = {"from": str(first), "to": str(last)}
    status, answer = beads.handle("GET", "/beads", query, {}, b"", now_ms)
    assert status == 200
    return json.loads(answer)


def test_a_stretch_takes_one_tint() -> None:
    """Counted from 1, both ends included, green in the highest byte."""
    beads = Beads("52117", 6)
    assert set_beads(beads) == 204
    assert beads.pixels(0)[12:] == bytes((1, 2, 3)) * 2


def test_what_is_not_lit_is_dark_and_remembers() -> None:
    """The tint stays known."""
    beads = Beads("52117", 6)
    set_beads(beads, lit="no")
    assert beads.pixels(0)[12:] == bytes(6)
    assert look(beads, 5, 6) == {"woke_ago": 0, "habit": "still", "tint": TINT, "lit": "no"}


@pytest.mark.parametrize(("habit", "period_ms"), [("wink", 700), ("nod", 2000)])
def test_a_habit_goes_by_its_own_clock(habit: str, period_ms: int) -> None:
    """Full and weak in turn."""
    beads = Beads("52117", 6)
    set_beads(beads, habit=habit, tint=str(200 << 8))
    seen = [beads.pixels(at)[12] for at in range(0, 2 * period_ms, period_ms // 4)]
    assert seen == [200, 200, 50, 50] * 2


def test_beads_are_strung_one_by_one() -> None:
    """From any bead on; the answer then has each of them."""
    beads = Beads("52117", 6)
    assert string(beads, {"from": 5, "tints": [TINT, 0]}) == 204
    assert beads.pixels(0)[12:] == bytes((1, 2, 3, 0, 0, 0))
    assert look(beads, 5, 6, 1500) == {"woke_ago": 1500, "habit": "strung", "tints": [TINT, 0]}
    assert look(beads, 4, 5)["tints"] == [tint_of(bytes((18, 10, 2))), TINT]


def test_the_tag_says_who_it_is() -> None:
    """Serial and how many beads hang on it."""
    answer = Beads("52117", 6).handle("GET", "/tag", {}, {}, b"", 0)[1]
    assert json.loads(answer) == {"serial": "52117", "threaded": 6}


@pytest.mark.parametrize(
    "changes",
    [
        {"from": "0"},
        {"from": "6", "to": "5"},
        {"to": "7"},
        {"to": ""},
        {"to": "six"},
        {"to": "-1"},
        {"tint": "16777216"},
        {"tint": "0x10"},
        {"lit": "true"},
        {"habit": "strung"},
    ],
)
def test_a_wrong_wish_is_refused(changes: dict[str, str]) -> None:
    """And undone."""
    beads = Beads("52117", 6)
    before = beads.pixels(0)
    assert set_beads(beads, **changes) == 422
    assert beads.pixels(0) == before


@pytest.mark.parametrize(
    "wish",
    [
        {"from": 5, "tints": [1, 2, 3]},
        {"from": 7, "tints": [1]},
        {"from": 1, "tints": []},
        {"from": 1, "tints": ["1"]},
        {"from": 1, "tints": [-1]},
        {"from": 1, "tints": 3},
    ],
)
def test_a_wrong_string_is_refused(wish: object) -> None:
    """And undone."""
    beads = Beads("52117", 6)
    before = beads.pixels(0)
    assert string(beads, wish) == 422
    assert beads.pixels(0) == before


@given(st.binary(min_size=3, max_size=3))
def test_a_tint_is_its_colour_packed(cell: bytes) -> None:
    """There and back."""
    assert cell_of(tint_of(cell)) == cell
