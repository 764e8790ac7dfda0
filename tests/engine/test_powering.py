"""No supply is asked for more than it bears: by what its pixels really draw, at every instant."""

from __future__ import annotations

import json
from dataclasses import replace
from random import Random

import pytest

from bridge.engine.actions import Request
from bridge.engine.powering import Powering, available_ua
from bridge.engine.showing import Showing
from bridge.engine.site import Draws, Site, Supply
from bridge.lights.desired import Desired
from bridge.lights.dialect.capturing import Kept
from bridge.lights.look import Native, Still
from bridge.lights.standing import Standing
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


@pytest.mark.parametrize("seed", range(12))
def test_no_storm_overdraws_a_supply(seed: int) -> None:
    """Controllers that fall silent or forget, printers that change: kept, or said not to be."""
    chance = Random(seed)
    base = chance.choice([workroom, scattered])()
    dark_ua = (len(base.controllers) - 1) * IDLE_UA * PIXELS
    limit_ua = chance.choice([200_000, 260_000, 310_000, 400_000, 600_000]) + dark_ua
    world = World(site=supplied(base, limit_ua), page=said(doing="aside")).begin()
    world.run_for(3000)
    for _ in range(40):
        what = chance.random()
        if what < 0.5:
            doing, snag = chance.choice(["at it", "aside", "stuck"]), chance.choice(["", "spool"])
            world.feed(heard(said(doing=doing, snag=snag, share=chance.random())))
        elif what < 0.7:
            world.silent = chance.choice([*base.controllers, ""])
        elif what < 0.8:
            world.board.restart(world.now_ms)
        for _ in range(chance.randrange(1, 30)):
            world.run_for(chance.randrange(1, 200))
            is_said = bool(world.notes("a supply is asked for more than it bears"))
            assert is_said or drawn_ua(world.board) + dark_ua <= limit_ua
    world.silent = ""
    world.run_for(120_000)
    assert world.all_shown()


def test_what_is_on_its_way_counts_though_nobody_knows_what_shows() -> None:
    """At a start: the lamp was told, and has not answered, when an alarm comes up elsewhere."""
    limit_ua = 310_000
    world = World(site=supplied(scattered(), limit_ua), page=said(doing="aside"))
    world.replies_ms = {"arch": 300, "rail": 400}
    world.begin()
    world.feed(heard(said(doing="aside")))
    while not world.board.shown[3]["push"]:
        world.run_for(1)
    assert not world.board.shown[1]["push"]
    world.feed(heard(said(snag="spool")))
    while not world.board.shown[1]["push"]:
        world.run_for(1)
    assert drawn_ua(world.board) + 2 * IDLE_UA * PIXELS <= limit_ua


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


def shown_after(world: World, began_ms: int) -> list[tuple[int, str, int]]:
    """When which segment was shown at what drive."""
    return [
        (at, action.segments[0], json.loads(action.body or b"{}")["push"])
        for at, action in world.actions
        if at >= began_ms and isinstance(action, Request) and action.purpose == "show"
    ]


def test_brighter_waits_until_darker_was_answered() -> None:
    """The alarm goes at once as bright as there is room, and wholly when the lamp has answered."""
    world = World(site=supplied(scattered(), 310_000), page=said(doing="aside")).begin()
    world.feed(heard(said(doing="aside")))
    world.run_for(5000)
    lamp = world.board.shown[3]["push"]
    world.feed(heard(said(snag="spool")))
    began_ms = world.now_ms
    world.run_for(3000)
    (dim, lowered, bright) = shown_after(world, began_ms)[:3]
    assert {dim[:2], lowered[:2]} == {(began_ms, "s1"), (began_ms, "s3")}
    lamp_then, alarm_then = (lowered, dim) if dim[1] == "s1" else (dim, lowered)
    assert lamp_then[2] < lamp
    assert bright[1] == "s1"
    assert bright[0] >= began_ms + REPLY_MS
    assert bright[2] > alarm_then[2]
    assert world.core.view().counts["brighter looks held back"] >= 1


def test_an_alarm_waits_for_nobody_who_does_not_answer() -> None:
    """It shows at once, as bright as there is room, while another is still to be lowered."""
    world = World(site=supplied(scattered(), 310_000), page=said(doing="aside")).begin()
    world.feed(heard(said(doing="aside")))
    world.run_for(5000)
    world.silent = "arch"
    world.feed(heard(said(snag="spool")))
    world.run_for(500)
    assert world.board.shown[1]["act"] == "hop"
    assert world.board.shown[1]["push"] > 0


def milder_first(world: World) -> bool:
    """Whether the alarm is dimmed only because what is milder cannot be dimmed any more."""
    segments = world.core.view().segments
    return "/16 by" in segments["s1"].dimmed_by and segments["s2"].dimmed_by.startswith("to 1/16")


def test_what_somebody_set_counts_as_it_was_read_and_blocks_no_alarm() -> None:
    """A lamp that is theirs is left so; the alarm has what it leaves, and the cap is kept."""
    site = supplied(workroom(), 310_000)
    lamp = replace(site.segments["s3"], yields=True)
    site = replace(site, segments={**site.segments, "s3": lamp})
    world = World(site=site, page=said(doing="aside")).begin()
    world.feed(heard(said(doing="aside")))
    world.run_for(5000)
    world.board.shown[3] = {"tint": "0000ff", "push": 255, "act": "calm"}
    world.run_for(20_000)
    assert world.core.view().segments["s3"].standing is Standing.YIELDED
    world.feed(heard(said(snag="spool")))
    for _ in range(60):
        world.run_for(50)
        assert drawn_ua(world.board) <= 310_000
    assert world.board.shown[3]["push"] == 255
    assert world.board.shown[1]["act"] == "hop"
    assert milder_first(world)


def test_what_does_not_keep_what_it_is_told_blocks_no_alarm() -> None:
    """It counts as it was read, whatever it is told."""
    world = World(site=supplied(scattered(), 310_000), page=said(doing="aside")).begin()
    for second in range(100):
        snag = "spool" if second > 60 else ""
        world.feed(heard(said(doing="aside", snag=snag)))
        for _ in range(5):
            world.board.shown[3] = {"tint": "ffffff", "push": 200, "act": "calm"}
            world.run_for(200)
    assert world.core.view().segments["s3"].disagrees
    assert world.board.shown[1]["act"] == "hop"
    assert milder_first(world)
    assert world.board.shown[1]["push"] > 255 * 34 // 240  # at its worst it would leave 34 mA
    assert drawn_ua(world.board) + 2 * IDLE_UA * PIXELS <= 310_000


def test_what_would_be_given_back_is_not_where_it_may_be_too_much() -> None:
    """What was there before may be as bright as can be; the resting scene is shown instead."""
    shown = []
    for limit_ua in (400_000, 5_000_000):
        site = supplied(workroom(), limit_ua)
        powering, showing = _stage(site)
        state = showing.controllers["rail"].segments["s3"]
        state.kept = Kept("{}")
        desired = Desired(Native("steady", (255, 0, 0), 0.1), decision="free", hands_back=True)
        powering.desire(site.segments["s3"], desired, (), 0)
        state.possible = (desired.look,)
        powering.settle(0)
        assert state.desired is not None
        shown.append(state.desired.hands_back)
    assert shown == [False, True]


def test_nothing_fades_where_it_could_be_too_much() -> None:
    """While it fades it draws what it drew, and nobody would know when there is room."""
    fades = []
    for limit_ua in (400_000, 5_000_000):
        site = supplied(workroom(), limit_ua)
        powering, showing = _stage(site)
        look = Native("steady", (255, 0, 0), 0.1, fade_ms=700)
        powering.desire(site.segments["s3"], Desired(look), (), 0)
        powering.settle(0)
        told = showing.controllers["rail"].segments["s3"].desired
        assert told is not None
        assert isinstance(told.look, Native)
        fades.append(told.look.fade_ms)
    assert fades == [0, 700]


def _stage(site: Site) -> tuple[Powering, Showing]:
    def ignored(*_: object) -> None:
        """Nobody listens."""

    showing = Showing(site, ignored, ignored)
    return Powering(site, showing, ignored), showing


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
    assert milder_first(world)
