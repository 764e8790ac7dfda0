"""Letting go of a segment, and what somebody else sets: through the whole core."""

from __future__ import annotations

from dataclasses import replace

from bridge.engine.core import Core
from bridge.engine.events import Restored, Settings, Started
from bridge.engine.records import BootRecord, KeptRecord
from bridge.engine.site import Site
from bridge.lights.standing import Standing
from bridge.scenes.scene import HAND_BACK
from tests.engine.workroom import WALL_MS, World, heard, moment, said, workroom
from tests.lights.mast import MAST, PLACES

EVERY_MS = 15_000


def handed_back_when_idle(site: Site) -> Site:
    """The table lets go of a segment whose printer rests."""
    table = site.tables["wall"]
    rows = tuple(
        replace(row, show=HAND_BACK, says="resting") if row.name == "idle" else row
        for row in table.rows
    )
    return replace(site, tables={"wall": replace(table, rows=rows)})


def resting(world: World, milliseconds: int) -> None:
    """Kestrel says again and again that it rests."""
    for _ in range(milliseconds // 5000):
        world.feed(heard(said(doing="aside")))
        world.run_for(5000)


def let_go() -> World:
    """A world whose first segment is let go of, and was set by somebody since."""
    world = World(site=handed_back_when_idle(workroom())).begin()
    resting(world, 2 * EVERY_MS)
    view = world.core.view().segments["s1"]
    assert (view.scene, view.rule) == (HAND_BACK, "idle")
    assert world.board.shown[1]["tint"] == "ff963c"
    world.board.drift(1)
    resting(world, 2 * EVERY_MS)
    return world


def test_a_segment_that_is_let_go_of_shows_its_resting_scene() -> None:
    """And what somebody sets there is left, without the segment saying so."""
    world = let_go()
    assert world.core.view().segments["s1"].standing is Standing.YIELDED
    assert world.board.shown[1]["tint"] == "ffffff"


def test_it_is_taken_again_by_the_next_decision() -> None:
    """Whatever somebody had set."""
    world = let_go()
    world.feed(heard(said(share=0.5)))
    world.run_for(2000)
    look = world.core.view().segments["s1"].look
    assert look is not None
    assert world.board.shows(workroom().segments["s1"].place, look)


def mast_site() -> Site:
    """One segment on a mast that keeps what was there before."""
    site = handed_back_when_idle(workroom())
    segment = replace(
        site.segments["s1"], place=replace(PLACES[0], segment="s1"), kept_for_ms=60_000
    )
    return replace(site, dialects={"pegs": MAST}, segments={"s1": segment})


def test_what_an_earlier_start_kept_is_taken_up() -> None:
    """By the wall clock: an hour old, it is still that old."""
    core = Core()
    kept = KeptRecord("s1", '"stripes"', WALL_MS - 10_000)
    written = BootRecord("rail", (WALL_MS - 5000,))
    core.handle(Started("seed"), moment(0))
    core.handle(Restored((kept, written), None), moment(0))
    core.handle(Settings(mast_site(), "digest"), moment(0))
    running = core._running  # noqa: SLF001 - what is restored shows only hours later
    assert running is not None
    state = running.showing.controllers["rail"].segments["s1"]
    assert state.kept is not None
    assert (state.kept.value, state.kept_ms) == ("stripes", -10_000)
