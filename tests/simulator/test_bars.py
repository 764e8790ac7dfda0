"""The dialect of the bars: what is told, what is given off, what is told back."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge.simulator.bars import Bars


def made() -> Bars:
    """Two bars of four and two cells."""
    return Bars("D-4", 6, {1: (0, 4), 2: (4, 2)})


def told(bars: Bars, path: str, wish: object, now_ms: int = 0) -> tuple[int, Any]:
    """Put a wish; status and answer."""
    status, body = bars.handle("PUT", path, {}, {}, json.dumps(wish).encode(), now_ms)
    return status, json.loads(body)


def asked(bars: Bars, path: str, now_ms: int = 0) -> Any:  # noqa: ANN401 - any JSON
    """The answer to a question."""
    status, body = bars.handle("GET", path, {}, {}, b"", now_ms)
    assert status == 200
    return json.loads(body)


@pytest.mark.parametrize(
    ("drive", "cell"), [(4095, (255, 136, 0)), (2048, (128, 68, 0)), (1, (0, 0, 0)), (0, (0, 0, 0))]
)
def test_the_drive_scales_the_paint(drive: int, cell: tuple[int, int, int]) -> None:
    """Rounded to the nearest of 255."""
    bars = made()
    assert told(bars, "/bars/2", {"paint": "ff8800", "drive": drive, "motion": "plain"}) == (
        200,
        {"done": True},
    )
    assert bars.pixels(0)[12:] == bytes(cell) * 2


@pytest.mark.parametrize(("motion", "period_ms"), [("beat", 500), ("toll", 1600)])
def test_a_motion_goes_by_its_own_clock(motion: str, period_ms: int) -> None:
    """Full and weak in turn, counted from power-up."""
    bars = made()
    told(bars, "/bars/2", {"paint": "c80000", "drive": 4095, "motion": motion}, 130)
    seen = [bars.pixels(at)[12] for at in range(0, 2 * period_ms, period_ms // 4)]
    assert seen == [200, 200, 50, 50] * 2


def test_cells_are_painted_one_by_one() -> None:
    """In one text, as many as the bar has."""
    bars = made()
    assert told(bars, "/bars/2/cells", {"cells": "010203040506"})[0] == 200
    assert bars.pixels(0)[12:] == bytes((1, 2, 3, 4, 5, 6))


def test_the_list_says_what_was_told() -> None:
    """Paint, drive and motion, or cells; and how long it is awake."""
    bars = made()
    told(bars, "/bars/1", {"paint": "00ff00", "drive": 7, "motion": "toll"})
    told(bars, "/bars/2/cells", {"cells": "010203040506"})
    assert asked(bars, "/bars", 61_999) == {
        "awake": 61,
        "list": [
            {"bar": 1, "paint": "00ff00", "drive": 7, "motion": "toll"},
            {"bar": 2, "motion": "cells", "cells": "010203040506"},
        ],
    }
    assert asked(bars, "/who") == {"name": "D-4", "count": 6}


@pytest.mark.parametrize(
    ("path", "wish", "status"),
    [
        ("/bars/1", {"paint": "FF0000", "drive": 1, "motion": "plain"}, 422),
        ("/bars/1", {"paint": "ff0000", "drive": 4096, "motion": "plain"}, 422),
        ("/bars/1", {"paint": "ff0000", "drive": 1.5, "motion": "plain"}, 422),
        ("/bars/1", {"paint": "ff0000", "drive": 1, "motion": "waltz"}, 422),
        ("/bars/1", {"paint": "ff0000", "drive": 1}, 400),
        ("/bars/3", {"paint": "ff0000", "drive": 1, "motion": "plain"}, 404),
        ("/bars/2/cells", {"cells": "010203"}, 422),
        ("/bars/2/cells", {"cells": "xyz"}, 422),
    ],
)
def test_a_wrong_wish_is_refused(path: str, wish: object, status: int) -> None:
    """With a reason, and undone."""
    bars = made()
    before = bars.pixels(0)
    answered, answer = told(bars, path, wish)
    assert (answered, answer["done"]) == (status, False)
    assert answer["why"]
    assert bars.pixels(0) == before
