"""The dialect of the shelves: what is told, what is given off, what is told back."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge.simulator.shelves import Shelves

PLAIN = {"turn": 0, "depth": 1000, "shine": 1000, "way": 0}


def made() -> Shelves:
    """Two shelves of four and two points."""
    return Shelves("oak rack", 6, {1: (0, 4), 2: (4, 2)})


def told(
    shelves: Shelves, path: str, wish: object, query: dict[str, str] | None = None
) -> tuple[int, Any]:
    """Post a wish; status and answer."""
    body = json.dumps(wish).encode()
    status, answer = shelves.handle("POST", path, query or {}, {}, body, 0)
    return status, json.loads(answer)


def asked(shelves: Shelves, path: str, query: dict[str, str] | None = None) -> Any:  # noqa: ANN401 - any JSON
    """The answer to a question."""
    status, answer = shelves.handle("GET", path, query or {}, {}, b"", 0)
    assert status == 200
    return json.loads(answer)


@pytest.mark.parametrize(
    ("turn", "depth", "shine", "cell"),
    [
        (0, 1000, 1000, (255, 0, 0)),
        (3600, 1000, 1000, (255, 0, 0)),
        (1200, 1000, 1000, (0, 255, 0)),
        (2400, 1000, 500, (0, 0, 128)),
        (600, 1000, 1000, (255, 255, 0)),
        (0, 0, 200, (51, 51, 51)),
        (900, 1000, 0, (0, 0, 0)),
    ],
)
def test_turn_depth_and_shine_make_a_colour(
    turn: int, depth: int, shine: int, cell: tuple[int, int, int]
) -> None:
    """Corners of the colour circle, rounded to the nearest of 255."""
    shelves = made()
    wish = {"turn": turn, "depth": depth, "shine": shine, "way": 0}
    assert told(shelves, "/shelves", {"shelf-2": wish}) == (200, {"taken": 1})
    assert shelves.pixels(0)[12:] == bytes(cell) * 2


@pytest.mark.parametrize(("way", "period_ms"), [(6, 600), (9, 1500)])
def test_a_way_goes_by_its_own_clock(way: int, period_ms: int) -> None:
    """Full and weak in turn."""
    shelves = made()
    told(shelves, "/shelves", {"shelf-2": {**PLAIN, "way": way}})
    seen = [shelves.pixels(at)[12] for at in range(0, 2 * period_ms, period_ms // 4)]
    assert seen == [255, 255, 64, 64] * 2


def test_strokes_are_laid_one_over_the_other() -> None:
    """Numbered along the whole run, from 0, both ends included; the rest of the shelf stays."""
    shelves = made()
    told(shelves, "/shelves", {"shelf-1": PLAIN})
    strokes = [
        {"from": 0, "to": 2, "ink": "rgb(1, 2, 3)"},
        {"from": 2, "to": 2, "ink": "rgb(4, 5, 6)"},
    ]
    assert told(shelves, "/strokes", strokes, {"on": "shelf-1"}) == (200, {"taken": 1})
    assert shelves.pixels(0)[:12] == bytes((1, 2, 3, 1, 2, 3, 4, 5, 6, 255, 0, 0))


def test_the_shelves_say_what_they_were_told() -> None:
    """By name, and the ink of a stroked one on request."""
    shelves = made()
    told(shelves, "/shelves", {"shelf-1": PLAIN})
    told(shelves, "/strokes", [{"from": 4, "to": 5, "ink": "rgb(1, 2, 3)"}], {"on": "shelf-2"})
    page = asked(shelves, "/shelves")
    assert page["shelves"] == {
        "shelf-1": PLAIN,
        "shelf-2": {"turn": None, "depth": None, "shine": None, "way": 30},
    }
    since = page["since"]
    assert asked(shelves, "/strokes", {"on": "shelf-2"}) == {
        "since": since,
        "inks": ["rgb(1, 2, 3)"] * 2,
    }
    assert asked(shelves, "/strokes", {"on": "shelf-1"}) == {"since": since, "inks": None}
    assert asked(shelves, "/plate") == {"maker": {"calls-it": "oak rack", "points": 6}}


def test_every_start_has_a_mark_of_its_own() -> None:
    """Unlike at each of many starts."""
    shelves = made()
    marks = set()
    for at in range(100):
        marks.add(asked(shelves, "/shelves")["since"])
        shelves.reboot(at)
    assert len(marks) == 100


def test_one_wrong_shelf_spoils_the_whole_wish() -> None:
    """All or nothing."""
    shelves = made()
    before = shelves.pixels(0)
    assert told(shelves, "/shelves", {"shelf-1": PLAIN, "shelf-2": {**PLAIN, "way": 4}})[0] == 422
    assert shelves.pixels(0) == before


@pytest.mark.parametrize(
    ("path", "query", "wish", "status"),
    [
        ("/shelves", {}, {"shelf-3": PLAIN}, 404),
        ("/shelves", {}, {}, 400),
        ("/shelves", {}, {"shelf-1": {**PLAIN, "turn": 3601}}, 422),
        ("/shelves", {}, {"shelf-1": {**PLAIN, "shine": 0.5}}, 422),
        ("/shelves", {}, {"shelf-1": {**PLAIN, "way": True}}, 422),
        ("/strokes", {"on": "shelf-3"}, [{"from": 0, "to": 1, "ink": "rgb(1, 2, 3)"}], 404),
        ("/strokes", {"on": "shelf-1"}, [{"from": 0, "to": 4, "ink": "rgb(1, 2, 3)"}], 422),
        ("/strokes", {"on": "shelf-1"}, [{"from": 2, "to": 1, "ink": "rgb(1, 2, 3)"}], 422),
        ("/strokes", {"on": "shelf-1"}, [{"from": 0, "to": 1, "ink": "#010203"}], 422),
        ("/strokes", {"on": "shelf-1"}, [{"from": 0, "to": 1, "ink": "rgb(1, 2, 256)"}], 422),
        ("/strokes", {"on": "shelf-1"}, [], 400),
    ],
)
def test_a_wrong_wish_is_refused(
    path: str, query: dict[str, str], wish: object, status: int
) -> None:
    """With a grumble, and undone."""
    shelves = made()
    before = shelves.pixels(0)
    answered, answer = told(shelves, path, wish, query)
    assert (answered, answer["taken"]) == (status, 0)
    assert answer["grumble"]
    assert shelves.pixels(0) == before
