"""The requests that show one look."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.lights.dialect.dialect import Dialect
from bridge.lights.dialect.grammar import RequestTemplate
from bridge.lights.look import Look
from bridge.lights.rendering import render
from tests.lights.board import BAR, BOARD, DIALECTS, LONGER_BAR, PLACES, RED, TWO_FRAMES


@pytest.mark.parametrize(
    ("dialect", "look", "before", "requests"),
    [
        ("pegs", RED, None, ['PUT /pegs/1 {"tint":"ff0000","push":255,"act":"calm"}']),
        (
            "lever",
            RED,
            None,
            ['PUT /pegs/1 {"tint":"ff0000","push":255,"act":"calm"}', "POST /pegs/1/pull"],
        ),
        (
            "pegs",
            BAR,
            None,
            [
                'PUT /pegs/1/row {"from":0,"row":["00ff00","00ff00"]}',
                'PUT /pegs/1/row {"from":2,"row":["090909","090909"]}',
            ],
        ),
        (
            "board",
            LONGER_BAR,
            BAR.frame,
            ['PUT /pegs/1/strokes [{"from":2,"count":1,"ink":"00ff00"}]'],
        ),
    ],
)
def test_a_look_is_all_the_requests_that_it_takes(
    dialect: str, look: Look, before: bytes | None, requests: list[str]
) -> None:
    """What must follow a show is among them, and painting is only what changed."""
    rendered = render(DIALECTS[dialect], PLACES[0], look, before)
    assert [str(prepared) for prepared in rendered] == requests


def test_only_a_still_frame_fades() -> None:
    """The frames of what moves are each there at once."""
    body = {"each": "range", "put": "{colour}"}
    paint = RequestTemplate("PUT", "/row", query={"ease": "{fade}"}, body=body)
    dialect = Dialect(replace(BOARD, paint=paint))
    (still,) = render(dialect, PLACES[0], replace(BAR, fade_ms=400))
    (moving,) = render(dialect, PLACES[0], TWO_FRAMES)
    assert (still.path, moving.path) == ("/row?ease=400", "/row?ease=0")
