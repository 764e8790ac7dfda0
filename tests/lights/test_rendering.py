"""The requests that show one look."""

from __future__ import annotations

import pytest

from bridge.lights.look import Look
from bridge.lights.rendering import render
from tests.lights.board import BAR, DIALECTS, LONGER_BAR, PLACES, RED


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
