"""What is left behind: every segment that tells of a printer off watch."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from bridge.engine.actions import Request
from bridge.engine.events import Stopping
from bridge.engine.leaving import off_watch_look, ready_requests, telling_segments
from bridge.engine.wishes import Hold
from bridge.lights.desire import plain_look
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Native, Still
from tests.engine.evening import HOUR_MS, Disk, Evening
from tests.engine.evening import site as evening_site
from tests.engine.test_powering import drawn_ua, supplied
from tests.engine.workroom import SCENES, World, workroom
from tests.lights.board import (
    BOARD,
    FOREIGN,
    FOREIGN_LOOK,
    LEVER,
    PLACES,
    WHOLE_BOARD,
    Board,
    board_for,
)

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
        board.perform(request.prepared, 0)
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
    assert [each["peg"] for each in json.loads(request.prepared.body or b"")] == [1, 2]


def test_a_list_of_everything_carries_all_that_is_ours() -> None:
    """What tells of nothing stands in it as it rests; and what is not ours, once it was read."""
    site = replace(
        workroom(), dialects={"pegs": WHOLE_BOARD}, scenes={**SCENES, "not-known": PLAIN}
    )
    (ready,) = ready_requests(site)
    (request,) = ready.requests
    told = {each["peg"]: each["tint"] for each in json.loads(request.prepared.body or b"")}
    assert told == {1: "c8c8c8", 2: "c8c8c8", 3: "ff963c"}
    assert request.template.reply is not None
    theirs = {"peg": FOREIGN, **FOREIGN_LOOK}
    (ready,) = ready_requests(site, {"rail": (theirs,)})
    (request,) = ready.requests
    items = json.loads(request.prepared.body or b"")
    assert items[0] == theirs
    assert {each["peg"] for each in items[1:]} == {1, 2, 3}


def test_what_is_not_ours_is_known_once_it_was_read() -> None:
    """Nothing of ours is among it; where nothing has to be sent back there is none."""
    for grammar, known in (
        (WHOLE_BOARD, {"rail": ({"peg": FOREIGN, **FOREIGN_LOOK},)}),
        (BOARD, {}),
    ):
        site = replace(workroom(), dialects={"pegs": grammar})
        world = World(site=site, board=board_for(grammar)).begin()
        world.run_for(3000)
        assert world.core.foreign() == known


def test_a_second_request_that_makes_it_seen_is_ready_too() -> None:
    """In its place."""
    site = replace(workroom(), dialects={"pegs": LEVER}, scenes={**SCENES, "not-known": PLAIN})
    (ready,) = ready_requests(site)
    said = [f"{each.prepared.method} {each.prepared.path}" for each in ready.requests]
    assert said == ["PUT /pegs/1", "POST /pegs/1/pull", "PUT /pegs/2", "POST /pegs/2/pull"]


def test_a_controller_that_tells_of_nothing_is_left_as_it_is() -> None:
    """Nobody takes its light for a printer's."""
    site = workroom()
    rack = replace(site.controllers["rail"], name="rack")
    lamp = replace(site.segments["s3"], controller="rack")
    site = replace(
        site,
        controllers={**site.controllers, "rack": rack},
        segments={**site.segments, "s3": lamp},
    )
    assert [each.controller.name for each in ready_requests(site)] == ["rail"]


@pytest.mark.parametrize("limit_ua", [5_000_000, 450_000, 300_000])
def test_the_ready_requests_ask_no_supply_for_too_much(limit_ua: int) -> None:
    """Together with what they leave alone, however bright off watch is."""
    bright = replace(PLAIN, colour=(255, 255, 255), brightness=1.0)
    site = supplied(replace(workroom(), scenes={**SCENES, "not-known": bright}), limit_ua)
    board = Board()
    warm = Dialect(site.dialects["pegs"]).show([(PLACES[2], plain_look(site.scenes["warm"]))])
    for request in [warm, *(each.prepared for each in ready_requests(site)[0].requests)]:
        board.perform(request, 0)
    assert drawn_ua(board) <= limit_ua
    assert (board.shown[1]["push"] < 255) is (limit_ua < 5_000_000)


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


@pytest.mark.parametrize("disk", ["keeps", "silent", "refuses"])
def test_what_was_wished_just_before_undoes_nothing(disk: Disk) -> None:
    """The disk's answer to a hold comes when the lights are already left."""
    evening = Evening(disk=disk).begin().say()
    evening.run_for(5000)
    evening.wish(Hold(("s1",), "warm", HOUR_MS))
    evening.feed(Stopping())
    stopped = len(evening.actions)
    evening.run_for(10_000)
    told = [
        action.purpose
        for _, action in evening.actions[stopped:]
        if isinstance(action, Request) and "s1" in action.segments
    ]
    assert set(told) <= {"paint"}
    assert not evening.core.is_leaving()
    assert evening.core.not_left() == ()
