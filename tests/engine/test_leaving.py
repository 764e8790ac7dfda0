"""What is left behind: every segment that tells of a printer off watch."""

from __future__ import annotations

import json
from dataclasses import replace

from bridge.engine.leaving import off_watch_look, ready_requests, telling_segments
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Native, Still
from tests.engine.evening import site as evening_site
from tests.engine.workroom import SCENES, workroom
from tests.lights.board import BOARD, PLACES, Board

PLAIN = replace(SCENES["not-known"], pattern="whole")


def test_only_what_tells_of_a_printer_is_off_watch() -> None:
    """By a table, or by an alarm that it may have to carry."""
    assert [segment.name for segment in telling_segments(workroom())] == ["s1", "s2"]
    evening = evening_site()
    carrying = {name for alarm in evening.alarms.values() for name in alarm.segments}
    named = {segment.name for segment in telling_segments(evening)}
    assert carrying <= named | {"all", *evening.sets}


def test_the_ready_requests_show_it() -> None:
    """On a board that performs them one after the other."""
    (ready,) = ready_requests(workroom())
    assert ready.controller.name == "rail"
    board = Board()
    for request in ready.requests:
        board.perform(request, 0)
    look = off_watch_look(
        workroom(), workroom().segments["s1"], Dialect(workroom().dialects["pegs"])
    )
    assert look is not None
    assert [board.shows(place, look) for place in PLACES] == [True, True, False]


def test_one_request_carries_what_one_body_can() -> None:
    """Where the dialect batches."""
    site = replace(workroom(), dialects={"pegs": BOARD}, scenes={**SCENES, "not-known": PLAIN})
    (ready,) = ready_requests(site)
    (request,) = ready.requests
    assert [each["peg"] for each in json.loads(request.body or b"")] == [1, 2]


def test_what_would_move_stands_still() -> None:
    """Nobody is there any more to paint the next frame; its brighter half stays."""
    flash = replace(PLAIN, effect="flash", rate="slow")
    site = replace(workroom(), scenes={**SCENES, "not-known": flash})
    look = off_watch_look(site, site.segments["s1"], Dialect(site.dialects["pegs"]))
    assert look == Still(bytes((40, 40, 40)) * 4)
    native = replace(flash, rate="normal")
    site = replace(site, scenes={**SCENES, "not-known": native})
    look = off_watch_look(site, site.segments["s1"], Dialect(site.dialects["pegs"]))
    assert isinstance(look, Native)
