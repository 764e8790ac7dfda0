"""The core, driven by events and moments only."""

from __future__ import annotations

from itertools import pairwise
from typing import TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.engine.actions import Action, Note, Poll, Request
from bridge.engine.core import Core, OutOfOrderError
from bridge.engine.events import (
    Answered,
    Clock,
    Due,
    Event,
    Fate,
    Heard,
    PollFailed,
    Settings,
    SourceLost,
    SourceUp,
    Started,
    Stopping,
    Unanswered,
)
from bridge.engine.view import View
from bridge.facts.moment import Moment
from bridge.lights.look import Still
from tests.engine.workroom import (
    FRESH_MS,
    PAGE,
    REPLY_MS,
    SHED,
    TOPIC,
    World,
    heard,
    moment,
    said,
    scattered,
    workroom,
)
from tests.lights.board import PLACES

# The straight line -------------------------------------------------------------------------------


def test_a_message_turns_a_segment() -> None:
    """Heard, decided, requested, answered, read back."""
    world = World().begin()
    world.run_for(10_000)
    assert world.rule() == "silent"
    world.feed(heard(said(doing="aside")))
    assert world.rule() == "idle"
    world.run_for(2000)
    assert world.all_shown()
    assert world.notes("decided")[-1] == {
        "segment": "s1",
        "printer": "kestrel",
        "rule": "idle",
        "scene": "ready",
        "because": "state is idle (idle)",
    }


def test_a_light_does_not_outlive_what_it_says() -> None:
    """With nothing heard, ``fresh_for`` ends at its own instant: inclusive, then not known."""
    world = World().begin()
    world.run_for(10_000)
    heard_ms = world.now_ms
    world.feed(heard(said(share=0.5)))
    world.run_until(heard_ms + FRESH_MS)
    assert world.rule() == "working"
    world.run_until(heard_ms + FRESH_MS + 1)
    assert world.rule() == "silent"
    world.run_for(1500)
    assert world.all_shown()


def test_a_segment_without_printers_shows_its_resting_scene() -> None:
    """From the start, whatever the printers say."""
    world = World().begin()
    world.run_for(5000)
    segment = world.core.view().segments["s3"]
    assert (segment.scene, segment.rule, segment.because) == ("warm", "", "its resting scene")
    assert segment.look is not None
    assert world.board.shows(PLACES[2], segment.look)


def test_a_lost_source_takes_its_facts_with_it() -> None:
    """At once, not when they would have gone stale."""
    world = World().begin()
    world.feed(heard(said()))
    world.feed(SourceLost(SHED, "connection closed"))
    assert world.rule() == "silent"
    assert world.core.view().sources == {SHED: "connection closed", "http": ""}


@pytest.mark.parametrize("event", [Due(), Heard(SHED, TOPIC, b"{}"), SourceUp(SHED), Stopping()])
def test_nothing_is_taken_before_started_and_settings(event: Event) -> None:
    """One clear error, and the beginning can still be made."""
    core = Core()
    with pytest.raises(OutOfOrderError, match="out of order, expected Started, then Settings"):
        core.handle(event, moment(0))
    core.handle(Started("seed"), moment(0))
    with pytest.raises(OutOfOrderError, match=f"{type(event).__name__} out of order"):
        core.handle(event, moment(0))
    assert core.deadline() is None
    assert core.view() == View(0, {}, {}, {}, {}, {})


@pytest.mark.parametrize("event", [Started("again"), Settings(workroom(), "again")])
def test_a_beginning_comes_once(event: Event) -> None:
    """A second one would be two sites at a time."""
    world = World().begin()
    with pytest.raises(OutOfOrderError, match="neither Started nor Settings again"):
        world.core.handle(event, moment(1))


def test_stopping_leaves_the_lights_off_watch_and_decides_nothing_more() -> None:
    """Whatever is still heard."""
    world = World().begin()
    world.feed(heard(said()))
    world.run_for(5000)
    world.feed(Stopping())
    decided = len(world.notes("decided"))
    for event in (heard(said(doing="stuck")), SourceUp(SHED)):
        world.feed(event)
    assert world.core.is_leaving()
    assert world.core.not_left() == ("rail",)
    world.run_for(3000)
    assert not world.core.is_leaving()
    assert world.core.not_left() == ()
    assert len(world.notes("decided")) == decided
    off_watch = Still(bytes((40, 40, 40)) + bytes(6) + bytes((40, 40, 40)))
    for place, tells in zip(PLACES, (True, True, False), strict=True):
        assert world.board.shows(place, off_watch) is tells


def test_an_instant_that_went_backwards_counts_as_the_last_one() -> None:
    """Two shells may read the clock in one order and deliver in the other."""
    world = World().begin()
    world.core.handle(heard(said()), moment(5000))
    world.core.handle(heard(said(share=0.5)), moment(4990))
    assert world.core.view().now_ms == 5000
    world.core.handle(Due(), moment(5000 + FRESH_MS))
    assert world.rule() == "working"
    world.core.handle(Due(), moment(5001 + FRESH_MS))
    assert world.rule() == "silent"


def test_answers_that_nobody_waits_for_are_passed_over() -> None:
    """A number that was never given, or one twice."""
    world = World().begin()
    world.run_for(20_000)
    assert world.core.handle(Answered(999, 500, b""), moment(world.now_ms)) == []
    assert world.core.handle(Answered(1, 500, b""), moment(world.now_ms)) == []
    assert world.core.handle(Unanswered(1, Fate.NEVER_LEFT, "x"), moment(world.now_ms)) == []


def test_a_controller_that_does_not_answer_is_said_once_with_its_name() -> None:
    """And the view says why."""
    core = Core()
    core.handle(Started("seed"), moment(0))
    core.handle(Settings(workroom(), "digest"), moment(0))
    told: list[Note] = []
    for _ in range(5):
        due_ms = core.deadline()
        assert due_ms is not None
        actions = core.handle(Due(), moment(due_ms))
        requests = [action for action in actions if isinstance(action, Request)]
        for request in requests:
            lost = Unanswered(request.number, Fate.MAYBE_APPLIED, "no answer within 2000 ms")
            actions += core.handle(lost, moment(due_ms + request.timeout_ms))
        told += [note for note in actions if isinstance(note, Note) and note.level == "warning"]
    fields = {"controller": "rail", "detail": "no answer within 2000 ms"}
    assert told == [Note("warning", "controller does not answer", fields)]
    assert core.view().controllers["rail"].detail == "no answer within 2000 ms"


def test_requests_carry_what_a_shell_needs() -> None:
    """Numbers in order, a time-out, the segments; the first goes when a second has passed."""
    world = World().begin()
    world.run_for(10_000)
    requests = [action for _, action in world.actions if isinstance(action, Request)]
    assert [request.number for request in requests] == list(range(1, len(requests) + 1))
    assert {request.timeout_ms for request in requests} == {2000}
    assert world.instants(Request)[0] == 1001
    shown = {s for request in requests if request.purpose != "read" for s in request.segments}
    assert shown == {"s1", "s2", "s3"}


def test_no_controller_waits_for_another() -> None:
    """Each has its own limits; at one instant requests go in the order of their names."""
    world = World(site=scattered()).begin()
    world.run_until(1001)
    requests = [action.controller for _, action in world.actions if isinstance(action, Request)]
    assert requests == ["arch", "post", "rail"]
    world.run_for(3000)
    assert world.all_shown()


def test_a_clock_that_becomes_known_is_passed_on() -> None:
    """A core begun without a wall clock learns it by the event's moment."""
    core = Core()
    for event in (Started("seed"), Settings(workroom(), "digest"), SourceUp(SHED)):
        core.handle(event, Moment(0))
    core.handle(heard(said()), Moment(10))
    core.handle(Clock(), moment(20))
    assert core.view().printers["kestrel"].facts["state"] == "processing"


# Time --------------------------------------------------------------------------------------------

Step: TypeAlias = tuple[int, Event]
spoken = st.sampled_from(
    [
        heard(said()),
        heard(said(share=0.25)),
        heard(said(doing="aside")),
        heard(said(doing="adrift")),
        heard(said(snag="spool")),
        heard(said(), retained=True),
        heard(b"{"),
        heard(b""),
        Heard("http", PAGE, said(doing="aside")),
        Heard("http", PAGE, None),
        PollFailed(PAGE, "connection refused"),
        SourceLost(SHED, "connection closed"),
        SourceUp(SHED),
        Clock(),
    ]
)
steps = st.lists(st.tuples(st.integers(0, 15_000), spoken), max_size=25)


def decided(actions: list[Action]) -> list[Note]:
    """The decisions among the actions."""
    return [action for action in actions if isinstance(action, Note) and action.event == "decided"]


def what_is_known(core: Core) -> object:
    """Facts and decisions, as far as they do not depend on what controllers answered."""
    view = core.view()
    facts = {name: printer.facts for name, printer in view.printers.items()}
    shown = {
        name: (segment.rule, segment.scene, segment.since_ms, segment.because, segment.look)
        for name, segment in view.segments.items()
    }
    return facts, shown


def run(steps: list[Step], *, wake: bool) -> tuple[object, list[Note]]:
    """Feed the events, and in between, or not, wake the core at each of its deadlines."""
    world = World().begin()
    core, actions = world.core, [action for _, action in world.actions]
    now_ms = 0
    for wait_ms, event in [*steps, (30_000, Due())]:
        now_ms += wait_ms
        while wake and (due_ms := core.deadline()) is not None and due_ms < now_ms:
            actions += core.handle(Due(), moment(due_ms))
        actions += core.handle(event, moment(now_ms))
    return what_is_known(core), decided(actions)


@given(steps)
def test_facts_and_decisions_do_not_depend_on_how_late_a_timer_fires(steps: list[Step]) -> None:
    """Woken at every deadline or only by the next event: the same facts, decisions, instants."""
    assert run(steps, wake=True) == run(steps, wake=False)


@given(steps, st.data())
def test_being_woken_too_often_changes_nothing(steps: list[Step], data: st.DataObject) -> None:
    """A ``Due`` before its time gives no action and moves no deadline."""
    world = World().begin()
    for wait_ms, event in steps:
        end_ms = world.now_ms + wait_ms
        early_ms = data.draw(st.integers(world.now_ms, end_ms))
        world.run_until(early_ms)
        deadline = world.core.deadline()
        if deadline is None or deadline > early_ms:
            assert world.core.handle(Due(), moment(early_ms)) == []
            assert world.core.deadline() == deadline
        world.run_until(end_ms)
        world.feed(event)


@given(steps)
def test_looking_changes_nothing(steps: list[Step]) -> None:
    """A view taken after every event leaves all actions as they are without."""
    seen, unseen = World().begin(), World().begin()
    for wait_ms, event in steps:
        for world in (seen, unseen):
            world.run_for(wait_ms)
            world.feed(event)
        assert seen.core.view() == seen.core.view()
    assert seen.actions == unseen.actions


@given(steps)
def test_controllers_end_at_what_is_decided(steps: list[Step]) -> None:
    """Events in any order; then, when nothing happens any more, the pixels are right (I2)."""
    world = World().begin()
    for wait_ms, event in steps:
        world.run_for(wait_ms)
        world.feed(event)
    # Past the longest freshness: what then changes by itself is shown, too.
    world.run_for(60_000)
    assert world.all_shown()


@given(steps)
def test_a_second_sees_no_more_requests_than_the_limit(steps: list[Step]) -> None:
    """Counted at the sender, the start included (I5)."""
    world = World().begin()
    for wait_ms, event in steps:
        world.run_for(wait_ms)
        world.feed(event)
    instants = world.instants(Request)
    for start in instants:
        assert sum(start <= at <= start + 1000 for at in instants) <= 4
    assert min(instants, default=1001) > 1000


@given(steps)
def test_no_printer_is_asked_more_than_once_a_second(steps: list[Step]) -> None:
    """And never while a poll is under way."""
    world = World(page=said()).begin()
    for wait_ms, event in steps:
        world.run_for(wait_ms)
        world.feed(event)
    polls = world.instants(Poll)
    assert all(later - sooner >= 1000 for sooner, later in pairwise(polls))


def test_a_reply_takes_its_time_and_the_next_request_waits_for_it() -> None:
    """One request in flight."""
    world = World().begin()
    world.run_for(20_000)
    instants = world.instants(Request)
    assert all(b - a >= REPLY_MS for a, b in pairwise(instants))
