"""No supply is asked for more than it bears: by what its pixels really draw, at every instant."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.engine.actions import Request
from bridge.engine.powering import available_ua
from bridge.engine.site import Draws, Site, Supply
from bridge.lights.look import Still
from tests.engine.workroom import REPLY_MS, World, heard, said, scattered, workroom
from tests.lights.board import PLACES, Board

CHANNEL_UA, IDLE_UA = 20_000, 1000
PIXELS = 12


def supplied(site: Site, limit_ua: int, reserve_ua: int = 0) -> Site:
    """Every controller on one supply."""
    draws = Draws(CHANNEL_UA, IDLE_UA)
    controllers = {n: replace(c, draws=draws) for n, c in site.controllers.items()}
    supply = Supply("cabinet", limit_ua, tuple(controllers), reserve_ua)
    return replace(site, controllers=controllers, supplies={"cabinet": supply})


def drawn_ua(board: Board) -> int:
    """What the board's pixels draw now: a flash at its fullest."""
    codes = 0
    for place in PLACES:
        told = board.shown[int(place.number)]
        if "row" in told:
            codes += sum(sum(bytes.fromhex(pixel)) for pixel in told["row"])
        else:
            colour = bytes.fromhex(told["tint"])
            full = 3 * 255 if told["act"] == "hop" else sum(colour)
            codes += round(full * told["push"] / 255) * place.length
    return codes * CHANNEL_UA // 255 + IDLE_UA * PIXELS


@pytest.mark.parametrize("limit_ua", [250_000, 400_000, 700_000, 1_200_000])
def test_a_supply_is_never_overdrawn(limit_ua: int) -> None:
    """Whatever the printers do, once what was there before is known."""
    world = World(site=supplied(workroom(), limit_ua), page=said(doing="aside")).begin()
    world.run_for(3000)
    for doing, snag in (
        ("at it", ""), ("at it", "spool"), ("aside", ""), ("stuck", "spool"), ("at it", ""),
    ) * 4:  # fmt: skip
        world.feed(heard(said(doing=doing, snag=snag, share=0.9)))
        for _ in range(40):
            world.run_for(50)
            assert drawn_ua(world.board) <= limit_ua


def test_what_is_milder_is_dimmed_and_an_alarm_is_not() -> None:
    """And the view says by what."""
    world = World(site=supplied(workroom(), 280_000), page=said(doing="aside")).begin()
    world.feed(heard(said(snag="spool")))
    world.run_for(5000)
    segments = world.core.view().segments
    assert segments["s1"].scene == "feed-me"
    assert segments["s1"].dimmed_by == ""
    assert segments["s3"].dimmed_by.endswith("/16 by the supply cabinet")
    (note,) = world.notes("segments are dimmed to spare their supply")
    assert note["supply"] == "cabinet"


def test_it_ends_with_what_it_was_for() -> None:
    """Everything is as bright as it should be, and that is said once."""
    world = World(site=supplied(workroom(), 280_000), page=said(doing="aside")).begin()
    world.feed(heard(said(snag="spool")))
    world.run_for(5000)
    world.feed(heard(said(doing="aside")))
    world.run_for(5000)
    assert {each.dimmed_by for each in world.core.view().segments.values()} == {""}
    assert len(world.notes("segments are as bright as they should be again")) == 1
    assert world.all_shown()


def test_brighter_waits_until_darker_was_answered() -> None:
    """Of controllers on one supply: the lamp is lowered and answers, and only then the alarm."""
    world = World(site=supplied(scattered(), 310_000), page=said(doing="aside")).begin()
    world.feed(heard(said(doing="aside")))
    world.run_for(5000)
    world.feed(heard(said(snag="spool")))
    began_ms = world.now_ms
    world.run_for(3000)
    shows = [
        (at, action.segments)
        for at, action in world.actions
        if at >= began_ms and isinstance(action, Request) and action.purpose == "show"
    ]
    assert [segments for _, segments in shows[:2]] == [("s3",), ("s1",)]
    assert shows[1][0] >= shows[0][0] + REPLY_MS
    assert world.core.view().counts["brighter looks held back"] >= 1


def test_without_supplies_nothing_is_dimmed() -> None:
    """And a supply that bears everything changes nothing."""
    plain, rich = World().begin(), World(site=supplied(workroom(), 90_000_000)).begin()
    for world in (plain, rich):
        world.feed(heard(said(share=0.5)))
        world.run_for(5000)
    assert plain.board.shown == rich.board.shown
    assert rich.notes("segments are dimmed to spare their supply") == []


def test_what_cannot_be_kept_is_an_error() -> None:
    """Everything is as dark as can be and lit; by how much it is too much is said."""
    world = World(site=supplied(workroom(), 13_000)).begin()
    world.run_for(5000)
    (note,) = world.notes("a supply is asked for more than it bears")
    assert str(note["over"]).endswith(" A")
    look = world.core.view().segments["s1"].look
    assert isinstance(look, Still)
    assert any(look.frame)


def test_what_is_left_for_looks() -> None:
    """The limit, less the reserve and every dark pixel."""
    site = supplied(workroom(), 1_000_000, reserve_ua=100_000)
    assert available_ua(site, site.supplies["cabinet"]) == 1_000_000 - 100_000 - 12 * IDLE_UA


def test_a_controller_that_is_gone_counts_at_its_worst() -> None:
    """Nobody can lower it; the others have only what it leaves."""
    world = World(site=supplied(scattered(), 310_000), page=said(doing="aside")).begin()
    world.feed(heard(said(doing="aside")))
    world.run_for(5000)
    lamp = world.board.shown[3]["push"]
    world.silent = "arch"
    world.run_for(20_000)
    world.feed(heard(said(snag="spool")))
    world.run_for(3000)
    assert world.board.shown[3]["push"] == lamp
    assert drawn_ua(world.board) + 2 * IDLE_UA * PIXELS <= 310_000
    assert "by the supply cabinet" in world.core.view().segments["s1"].dimmed_by
