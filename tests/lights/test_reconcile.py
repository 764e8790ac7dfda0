"""The reconciler against a simulated board: whatever happens, it ends at the desired looks."""

from __future__ import annotations

from itertools import pairwise
from typing import TypeAlias

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.lights.choosing import SHOWS_BEFORE_READ
from bridge.lights.contact import Contact, Noticed, Remark
from bridge.lights.controller_state import BACKOFF_BASE_MS, BACKOFF_CAP_MS
from bridge.lights.look import Still
from bridge.lights.segment import INSISTS
from bridge.lights.standing import Standing
from tests.lights.bench import SETTLED, Bench, settled
from tests.lights.board import (
    ALARM,
    BAR,
    BLUE,
    EVERY_MS,
    FATES,
    FOREIGN,
    FOREIGN_LOOK,
    GRAMMARS,
    LONGER_BAR,
    LOOKS,
    PLACES,
    RED,
    SETTLES_MS,
)

# Whatever happens --------------------------------------------------------------------------------

Happening: TypeAlias = tuple[str, int, int]
happenings = st.lists(
    st.one_of(
        st.tuples(st.just("desire"), st.integers(0, 2), st.integers(0, len(LOOKS) - 1)),
        st.tuples(st.just("send"), st.just(0), st.integers(0, len(FATES) - 1)),
        st.tuples(st.just("send"), st.just(0), st.just(0)),
        st.tuples(st.just("desire in flight"), st.integers(0, 2), st.integers(0, len(LOOKS) - 1)),
        st.tuples(st.just("wait"), st.just(0), st.integers(1, 40_000)),
        st.tuples(st.just("restart"), st.just(0), st.just(0)),
        st.tuples(st.just("drift"), st.integers(0, 2), st.just(0)),
    ),
    max_size=40,
)


def happen(bench: Bench, happening: Happening) -> None:
    """Let one thing happen."""
    what, segment, number = happening
    place = PLACES[segment]
    if what == "desire":
        bench.desire(LOOKS[number], place.segment, gravity=number)
    elif what == "send":
        if bench.reconciler.ready_ms(bench.now_ms) is not None:
            bench.step(FATES[number])
    elif what == "desire in flight":
        planned = bench.reconciler.choose(bench.now_ms)
        bench.desire(LOOKS[number], place.segment, gravity=number)
        if planned is not None:
            bench.sent.append((bench.now_ms, planned.prepared))
            bench.report(planned.prepared, "answered")
    elif what == "wait":
        bench.now_ms += number
    elif bench.reconciler.dialect.reads:
        # What cannot be read back is found out by nobody.
        if what == "restart":
            bench.board.restart(bench.now_ms)
        else:
            bench.board.drift(int(place.number))


@pytest.mark.parametrize("dialect", GRAMMARS)
@given(happenings=happenings)
def test_it_always_ends_at_the_desired_looks(dialect: str, happenings: list[Happening]) -> None:
    """Losses, restarts, drift and changes in any order; then, with a good network, all is right."""
    bench = Bench(dialect)
    for place in PLACES:
        bench.desire(RED, place.segment)
    for happening in happenings:
        happen(bench, happening)
    bench.run_for(2 * BACKOFF_CAP_MS + 2 * EVERY_MS)
    for place in PLACES:
        state = bench.reconciler.segments[place.segment]
        assert state.desired is not None
        assert bench.board.shows(place, state.desired.look)
    assert bench.board.shown[FOREIGN] == FOREIGN_LOOK
    assert bench.reconciler.contact is Contact.REACHABLE
    # And it stays there: only read-backs go on.
    assert all("GET" in sent for sent in bench.run_for(2 * EVERY_MS))


@pytest.mark.parametrize("dialect", GRAMMARS)
@given(happenings=happenings)
def test_no_second_sees_more_than_the_limit(dialect: str, happenings: list[Happening]) -> None:
    """Whatever becomes of requests, and the last second of an earlier run counts as used up."""
    bench = Bench(dialect, now_ms=5000)
    limits = bench.reconciler.dialect.limits
    assert limits.requests is not None
    bench.desire(RED)
    for happening in happenings:
        happen(bench, happening)
    instants = [5000] * limits.requests + [instant for instant, _ in bench.sent]
    for start in instants[limits.requests :]:
        inside = [at for at in instants if start - limits.window_ms <= at <= start]
        assert len(inside) <= limits.requests


# One thing at a time -----------------------------------------------------------------------------


def test_what_is_shown_is_read_back_when_it_has_settled() -> None:
    """Told, then after ``settles_in`` confirmed, then read every so often."""
    bench = settled()
    bench.desire(BLUE)
    assert bench.step() == "PUT /pegs/1"
    assert bench.standing() is Standing.TOLD
    told_ms = bench.now_ms
    assert bench.step() == "GET /pegs"
    assert bench.sent[-1][0] == told_ms + SETTLES_MS
    assert bench.standing() is Standing.CONFIRMED
    assert bench.run_for(3 * EVERY_MS) == ["GET /pegs"] * 3


def test_one_request_is_in_flight_and_the_newest_look_wins() -> None:
    """Looks that were overtaken while a request was under way are never sent."""
    bench = settled()
    bench.desire(BLUE)
    planned = bench.reconciler.choose(bench.now_ms)
    assert planned is not None
    bench.desire(ALARM)
    bench.desire(RED)
    assert bench.reconciler.ready_ms(bench.now_ms) is None
    assert bench.reconciler.choose(bench.now_ms) is None
    bench.report(planned.prepared, "answered")
    bench.step()
    assert bench.board.shows(PLACES[0], RED)
    assert bench.reconciler.segments["s1"].told == RED


def test_a_look_that_is_shown_already_is_not_sent() -> None:
    """Only differences: there and back within one decision sends nothing."""
    bench = settled()
    bench.desire(BLUE)
    bench.desire(RED)
    assert bench.reconciler.ready_ms(bench.now_ms) != bench.now_ms
    assert bench.run_for(1000) == []


def test_the_graver_look_goes_first_then_the_older() -> None:
    """Gravity before age, age before order."""
    bench = settled()
    bench.desire(RED, "s3", gravity=1)
    bench.now_ms += 5
    bench.desire(RED, "s2", gravity=1)
    bench.desire(ALARM, "s1", gravity=5)
    assert [bench.step() for _ in range(3)] == ["PUT /pegs/1", "PUT /pegs/3", "PUT /pegs/2"]


def test_a_painted_look_is_told_in_parts_and_only_then_counts() -> None:
    """A body may not hold all pixels; until the last part what shows is a mixture."""
    bench = settled()
    bench.desire(BAR)
    assert bench.step() == "PUT /pegs/1/row"
    assert bench.standing() is Standing.NOT_KNOWN
    bench.run_for(SETTLES_MS - 1)
    assert bench.standing() is Standing.TOLD
    assert bench.board.shows(PLACES[0], BAR)


def test_a_graver_look_cuts_in_between_the_parts_of_another() -> None:
    """The rest of a painting waits."""
    bench = settled()
    bench.desire(BAR)
    first = bench.step()
    bench.desire(ALARM, "s2", gravity=5)
    assert [first, bench.step(), bench.step()] == ["PUT /pegs/1/row", "PUT /pegs/2", first]
    bench.run_for(5000)
    assert bench.board.shows(PLACES[0], BAR)


def test_only_changed_pixels_are_painted_where_the_dialect_can() -> None:
    """From a frame that is known to be there."""
    bench = settled("board")
    bench.desire(LONGER_BAR, "s3")
    bench.step()
    assert bench.sent[-1][1].body == b'[{"from":10,"count":1,"ink":"00ff00"}]'
    bench.board.restart(bench.now_ms)
    bench.run_for(EVERY_MS + 2000)
    assert bench.board.shows(PLACES[2], LONGER_BAR)


def test_a_batch_carries_all_that_differ() -> None:
    """One request for what one body can hold."""
    bench = settled("board")
    bench.desire(BLUE, "s1")
    bench.desire(ALARM, "s2")
    assert bench.step() == "PUT /pegs"
    assert bench.board.shows(PLACES[0], BLUE)
    assert bench.board.shows(PLACES[1], ALARM)


def test_nothing_is_shown_before_what_is_not_ours_was_read() -> None:
    """A board that forgets what a list does not hold is sent everything, as it was read."""
    bench = Bench("whole board")
    bench.desire(RED)
    assert [bench.step(), bench.step()] == ["GET /me", "GET /pegs"]
    assert bench.step() == "PUT /pegs"
    assert bench.board.shown[FOREIGN] == FOREIGN_LOOK


def test_what_is_sent_back_is_what_was_read_last() -> None:
    """Others change their pegs meanwhile; and of ours, what was told since that read counts."""
    bench = settled("whole board")
    bench.board.shown[FOREIGN] = {"tint": "654321", "push": 5, "act": "hop"}
    bench.run_for(EVERY_MS)
    bench.desire(BLUE, "s1")
    assert bench.step() == "PUT /pegs"
    bench.desire(RED, "s2")
    assert bench.step() == "PUT /pegs"
    assert bench.board.shown[FOREIGN] == {"tint": "654321", "push": 5, "act": "hop"}
    assert bench.board.shows(PLACES[0], BLUE)
    assert bench.board.shows(PLACES[1], RED)


def test_a_look_that_needs_a_second_request_counts_after_it() -> None:
    """Between the two nothing is known."""
    bench = settled("lever")
    bench.desire(BLUE)
    assert bench.step() == "PUT /pegs/1"
    assert bench.standing() is Standing.NOT_KNOWN
    assert not bench.board.shows(PLACES[0], BLUE)
    assert bench.step() == "POST /pegs/1/pull"
    assert bench.standing() is Standing.TOLD


# What goes wrong ---------------------------------------------------------------------------------


def test_drift_is_corrected() -> None:
    """What somebody else changed is noticed at a read-back and put right."""
    bench = settled()
    bench.board.drift(1)
    bench.run_for(EVERY_MS + 1000)
    assert bench.remarks() == [Remark.DRIFTED]
    assert bench.board.shows(PLACES[0], RED)


def test_what_does_not_keep_a_look_disagrees_after_three_corrections() -> None:
    """It is told and corrected three times, reported, then retried at the backoff's cap."""
    bench = settled()
    bench.desire(BLUE)
    shows = 0
    instants = []
    for _ in range(60):
        sent = bench.step()
        if sent == "PUT /pegs/1":
            shows += 1
            instants.append(bench.now_ms)
            bench.board.drift(1)
    assert bench.remarks() == [Remark.DRIFTED] * INSISTS + [Remark.DISAGREES]
    early = [instant for instant in instants if instant < instants[0] + BACKOFF_CAP_MS]
    assert len(early) == 1 + INSISTS
    later = instants[1 + INSISTS :]
    gaps = [later_ms - sooner_ms for sooner_ms, later_ms in pairwise(later)]
    assert gaps
    assert min(gaps) >= BACKOFF_CAP_MS
    assert bench.reconciler.segments["s1"].disagrees
    # A new look is tried at once, and one that sticks ends the disagreement.
    bench.desire(RED)
    assert bench.run_for(2000)[0] == "PUT /pegs/1"
    assert not bench.reconciler.segments["s1"].disagrees


def test_an_outdated_look_that_drifted_holds_nothing_up() -> None:
    """A read-back that comes in after the next decision is no correction of it."""
    bench = settled()
    for _ in range(INSISTS):
        bench.board.drift(1)
        while bench.step() != "PUT /pegs/1":
            pass
    bench.board.drift(1)
    while (planned := bench.reconciler.choose(bench.now_ms)) is None:
        ready = bench.reconciler.ready_ms(bench.now_ms)
        assert ready is not None
        bench.now_ms = ready
    assert planned.purpose == "read"
    bench.desire(ALARM)
    bench.report(planned.prepared, "answered")
    assert bench.run_for(1000)[0] == "PUT /pegs/1"


def test_a_restart_is_noticed_and_everything_shown_again() -> None:
    """With nobody touching anything: who it is, then every segment."""
    bench = settled(identity="pegboard")
    bench.board.restart(bench.now_ms)
    sent = bench.run_for(EVERY_MS + 2000)
    assert sent[:5] == ["GET /pegs", "GET /me", "PUT /pegs/1", "PUT /pegs/2", "PUT /pegs/3/row"]
    assert bench.remarks() == [Remark.RESTARTED]
    assert bench.reconciler.restarts == 1
    for place, look in SETTLED:
        assert bench.board.shows(place, look)


@pytest.mark.parametrize(
    ("name", "pixels", "why"),
    [
        ("another", 12, "it says 'another', expected 'pegboard'"),
        (None, 12, "it does not say who it is, expected 'pegboard'"),
        ("pegboard", 11, "it has 11 pixels, the site says 12"),
    ],
)
def test_a_stranger_is_shown_nothing(name: str | None, pixels: int, why: str) -> None:
    """It is reported once and asked again, gently, until the right one answers."""
    bench = Bench(identity="pegboard")
    bench.board.name, bench.board.pixels = name, pixels
    bench.desire(RED)
    sent = bench.run_for(3 * BACKOFF_CAP_MS)
    assert set(sent) == {"GET /me"}
    assert len(sent) == 3
    assert bench.noticed == [Noticed(Remark.STRANGER, why)]
    assert bench.reconciler.contact is Contact.STRANGER
    bench.remarks()
    bench.board.name, bench.board.pixels = "pegboard", 12
    bench.run_for(2 * BACKOFF_CAP_MS)
    assert bench.board.shows(PLACES[0], RED)
    assert bench.remarks() == [Remark.BACK]


def test_silence_is_reported_once_and_retried_with_backoff() -> None:
    """Waits stay under the doubling ceiling, and the first answer ends them."""
    bench = settled()
    bench.desire(BLUE)
    for attempt in range(1, 10):
        before_ms = bench.now_ms
        bench.step("lost")
        waited = bench.sent[-1][0] - before_ms
        if attempt > 1:
            ceiling = min(BACKOFF_CAP_MS, BACKOFF_BASE_MS * 2 ** (attempt - 2))
            assert waited <= max(ceiling, 1001)
    assert bench.remarks() == [Remark.UNREACHABLE]
    assert bench.reconciler.contact is Contact.UNREACHABLE
    bench.run_for(2 * BACKOFF_CAP_MS)
    assert bench.remarks() == [Remark.BACK]
    assert bench.board.shows(PLACES[0], BLUE)


def test_what_may_have_been_applied_is_not_taken_for_what_was_there() -> None:
    """The look of before is shown again, though it was confirmed once."""
    bench = settled()
    bench.desire(BLUE)
    bench.step("reply lost")
    assert bench.standing() is Standing.NOT_KNOWN
    bench.desire(RED)
    assert [bench.step(), bench.step()] == ["GET /pegs", "PUT /pegs/1"]
    assert bench.board.shows(PLACES[0], RED)


def test_whoever_comes_back_is_looked_at_all_over() -> None:
    """Not only when the next read-back would have been due."""
    bench = settled()
    bench.desire(BLUE)
    bench.step("lost")
    bench.board.drift(2)
    bench.run_for(4000)
    assert bench.board.shows(PLACES[1], BLUE)


def test_a_busy_controller_is_given_the_time_it_asks_for() -> None:
    """Retry-After holds everything up to the backoff's cap."""
    bench = settled()
    bench.desire(BLUE)
    planned = bench.reconciler.choose(bench.now_ms)
    assert planned is not None
    noticed = bench.reconciler.answered(429, b"", 12_000, bench.now_ms)
    assert noticed == [Noticed(Remark.REFUSING, "says it is busy: status 429")]
    assert bench.reconciler.ready_ms(bench.now_ms) == bench.now_ms + 12_000
    bench.run_for(13_000)
    assert bench.reconciler.contact is Contact.REACHABLE


def test_a_request_that_never_left_is_simply_sent_again() -> None:
    """What the segment shows is still known."""
    bench = settled()
    bench.desire(BLUE)
    bench.step("never left")
    assert bench.standing() is Standing.CONFIRMED
    bench.run_for(2000)
    assert bench.board.shows(PLACES[0], BLUE)


@pytest.mark.parametrize("dialect", ["pegs", "board"])
def test_a_look_that_is_refused_keeps_no_other_from_being_shown(dialect: str) -> None:
    """The refused one alone waits, reported once; a graver segment does not starve the rest."""
    bench = settled(dialect)
    bench.board.refuses = {1}
    bench.desire(ALARM, "s1", gravity=5)
    bench.desire(RED, "s2", gravity=1)
    bench.run_for(3000)
    assert bench.board.shows(PLACES[1], RED)
    bench.desire(RED, "s3", gravity=1)
    bench.run_for(1500)
    assert bench.board.shows(PLACES[2], RED)
    bench.run_for(60_000)
    refusals = [noticed for noticed in bench.noticed if noticed.segment == "s1"]
    assert refusals == [Noticed(Remark.REFUSING, "show: refuses the request: status 400", "s1")]
    assert bench.contact() is Contact.REFUSING
    bench.board.refuses = set()
    bench.run_for(BACKOFF_CAP_MS + 1000)
    assert bench.board.shows(PLACES[0], ALARM)
    assert bench.contact() is Contact.REACHABLE


def test_a_read_that_is_refused_keeps_nothing_from_being_shown() -> None:
    """Reading back is worth less than showing."""
    bench = settled()
    bench.board.reads_refused = True
    bench.run_for(2 * EVERY_MS)
    assert bench.remarks() == [Remark.REFUSING]
    bench.desire(BLUE)
    assert bench.step() == "PUT /pegs/1"
    assert bench.sent[-1][0] <= bench.now_ms
    bench.board.reads_refused = False
    bench.run_for(2 * EVERY_MS)
    assert bench.remarks() == [Remark.BACK]
    assert bench.standing() is Standing.CONFIRMED


def test_an_answer_that_cannot_be_read_is_reported_once() -> None:
    """It tells nothing, so nothing is corrected by it."""
    bench = settled()
    for _ in range(2):
        bench.now_ms += EVERY_MS
        assert bench.reconciler.choose(bench.now_ms) is not None
        bench.noticed += bench.reconciler.answered(200, b"<html>", None, bench.now_ms)
    assert bench.remarks() == [Remark.MISREAD]
    assert bench.standing() is Standing.CONFIRMED


def test_a_board_that_cannot_be_read_is_shown_everything_after_an_outage() -> None:
    """It may have lost its power meanwhile, and nobody could tell."""
    bench = settled("mute pegs")
    bench.desire(BLUE)
    bench.step("lost")
    bench.board.restart(bench.now_ms)
    bench.run_for(10_000)
    assert bench.board.shows(PLACES[0], BLUE)
    for place, look in SETTLED[1:]:
        assert bench.board.shows(place, look)


def test_a_board_that_cannot_be_read_is_painted_from_the_first_part_after_an_outage() -> None:
    """A power cut between two parts takes the first; its failure to answer is all that tells."""
    bench = settled("mute pegs")
    bench.desire(LONGER_BAR)
    bench.step()
    bench.board.restart(bench.now_ms)
    bench.step("never left")
    bench.run_for(10_000)
    assert bench.board.shows(PLACES[0], LONGER_BAR)


def test_a_board_that_cannot_be_read_is_tried_again_though_nothing_new_is_wanted() -> None:
    """What failed is not wanted any more, and what was shown before may be gone."""
    bench = settled("mute pegs")
    bench.board.restart(bench.now_ms)
    bench.desire(BLUE)
    bench.step("never left")
    bench.desire(RED)
    bench.run_for(10_000)
    assert bench.board.shows(PLACES[0], RED)
    assert bench.contact() is Contact.REACHABLE


def test_a_read_back_that_is_due_goes_after_four_shows() -> None:
    """However often looks change, what is there is looked at."""
    bench = settled()
    shows_since_due: list[int] = []
    due_ms = bench.now_ms + EVERY_MS
    for number in range(60):
        bench.desire((RED, BLUE)[number % 2])
        if bench.step() == "GET /pegs":
            shows_since_due.append(0)
            due_ms = bench.now_ms + EVERY_MS
        elif bench.now_ms >= due_ms:
            shows_since_due.append(shows_since_due.pop() + 1 if shows_since_due else 1)
        due_ms = min(due_ms, bench.now_ms + SETTLES_MS)
    assert len(shows_since_due) > 60 / (2 * SHOWS_BEFORE_READ + 1)
    assert max(shows_since_due) == SHOWS_BEFORE_READ


def test_an_answer_that_nobody_waits_for_changes_nothing() -> None:
    """A reply of an earlier settings, or one that comes twice."""
    bench = settled()
    assert bench.reconciler.answered(500, b"", None, bench.now_ms) == []
    assert bench.reconciler.unanswered(maybe_applied=True, why="x", now_ms=bench.now_ms) == []
    assert bench.standing() is Standing.CONFIRMED


def test_a_still_look_is_read_back_too() -> None:
    """Painted pixels are compared as pixels."""
    bench = settled()
    assert isinstance(bench.reconciler.segments["s3"].told, Still)
    assert bench.standing("s3") is Standing.CONFIRMED
    bench.board.drift(3)
    bench.run_for(EVERY_MS + 2000)
    assert bench.board.shows(PLACES[2], BAR)
