"""From facts to what is shown: when a decision is made, and what a person is told."""

from __future__ import annotations

from dataclasses import replace

from bridge.engine.actions import Note, Request
from bridge.engine.core import Core
from bridge.engine.events import Due, Fate, Settings, Started, Unanswered
from bridge.lights.desire import Kept
from bridge.lights.dialect.dialect import Prepared
from bridge.lights.standing import Standing
from tests.engine.workroom import FRESH_MS, World, heard, kinds, moment, said, workroom
from tests.lights.board import PEGS, Board


def decisions(world: World) -> int:
    """How often a table was asked."""
    return world.core.view().counts["decisions"]


def test_every_segment_with_a_table_is_decided_at_the_start() -> None:
    """From what is known: nothing yet."""
    world = World().begin(up=False)
    assert [(note["segment"], note["rule"]) for note in world.notes("decided")] == [
        ("s1", "silent"),
        ("s2", "silent"),
    ]


def test_a_table_is_asked_only_when_something_that_it_reads_changed() -> None:
    """The same message again, or a fact of no rule and no scene, decides nothing."""
    world = World().begin()
    world.feed(heard(said(share=0.5)))
    before = decisions(world)
    world.feed(heard(said(share=0.5)))
    world.feed(heard(said(share=0.5, note="new")))
    assert decisions(world) == before
    world.feed(heard(said(share=0.6)))
    assert decisions(world) == before + 1


def test_a_decision_is_told_when_another_row_decides() -> None:
    """A gauge that moves is the same decision, sent and not told."""
    world = World().begin()
    world.run_for(5000)
    world.feed(heard(said(share=0.1)))
    told = len(world.notes("decided"))
    since_ms = world.core.view().segments["s1"].since_ms
    world.run_for(1000)
    assert kinds(world.feed(heard(said(share=0.9)))) == ["Request"]
    assert len(world.notes("decided")) == told
    assert world.core.view().segments["s1"].since_ms == since_ms


def test_the_graver_segment_goes_first() -> None:
    """Of all that wait when a request can go."""
    world = World(page=said(snag="spool")).begin()
    world.run_for(1500)
    shows = [a for _, a in world.actions if isinstance(a, Request) and a.purpose == "show"]
    assert shows[0].segments == ("s2",)


def test_what_a_dialect_cannot_show_is_told() -> None:
    """The scene, the segment, and what is lost."""
    site = workroom()
    core = Core()
    core.handle(Started("seed"), moment(0))
    plain = {"pegs": replace(PEGS, paint=None)}
    actions = core.handle(Settings(replace(site, dialects=plain), "digest"), moment(0))
    (note,) = [a for a in actions if isinstance(a, Note) and a.fields.get("segment") == "s1"][:1]
    assert note.event == "scene not shown as written"
    assert note.fields["why"] == Kept.NO_PATTERN.value
    assert core.view().segments["s1"].kept is Kept.NO_PATTERN


def test_the_view_says_what_is_shown_why_and_how_sure_that_is() -> None:
    """Rule, reasons for and against, scene, and what was read back."""
    world = World().begin()
    world.run_for(9000)
    world.feed(heard(said(doing="aside")))
    shown = world.core.view().segments["s1"]
    assert (shown.table, shown.rule, shown.scene) == ("wall", "idle", "ready")
    assert shown.because == "state is idle (idle)"
    assert shown.passed_over == (
        ("out of material", "reasons have any of material-empty: is not so, reasons is none"),
        ("silent", "stale is true: is not so, stale is false"),
        ("working", "state is processing: is not so, state is idle"),
    )
    assert shown.since_ms == 9000
    world.run_for(FRESH_MS - 1)
    assert world.core.view().segments["s1"].standing is Standing.CONFIRMED


class Failing(Board):
    """A board that answers everything with an error."""

    def perform(self, request: Prepared, now_ms: int) -> tuple[int, bytes]:
        """Answer."""
        del request, now_ms
        return 500, b""


def test_what_goes_wrong_with_controllers_is_counted() -> None:
    """Every answer of no use, every one that did not come, and what a person was told of them."""
    world = World(board=Failing()).begin()
    world.run_for(10_000)
    counts = world.core.view().counts
    assert counts["answers of no use"] == counts["requests"] > 3
    assert counts["controller refuses"] == 1


def test_a_request_that_is_not_answered_is_counted() -> None:
    """Each of them; an answer to what nobody asked is not."""
    core = Core()
    core.handle(Started("seed"), moment(0))
    core.handle(Settings(workroom(), "digest"), moment(0))
    actions = core.handle(Due(), moment(2000))
    requests = [each for each in actions if isinstance(each, Request)]
    assert requests
    for request in requests:
        core.handle(Unanswered(request.number, Fate.NEVER_LEFT, "connection refused"), moment(2010))
    core.handle(Unanswered(9999, Fate.NEVER_LEFT, "connection refused"), moment(2010))
    counts = core.view().counts
    assert counts["requests unanswered"] == len(requests)
    assert counts["controller does not answer"] == 1
