"""One prompt over time: a person is wanted, and nothing is wrong."""

from __future__ import annotations

import pytest

from bridge.facts.moment import Moment
from bridge.facts.truth import Truth
from bridge.facts.values import Unknown, Why
from bridge.rules.alarm_records import Kind, PromptRecord, Refusal, WhyRefused
from bridge.rules.conditions import SymbolIs
from bridge.rules.prompt_states import PromptState
from bridge.rules.prompting import PromptMachine
from tests.rules.alarms import DONE, STOPPED, WALL_MS, F, T, U, at, done, kinds, prompt
from tests.rules.alarms import prompt_machine as machine

LINK = SymbolIs("link", frozenset({"up"}))


def waiting() -> PromptMachine:
    """One that a finished part raised at 0 ms."""
    made = machine()
    made.judge(T, F, at(0))
    return made


@pytest.mark.parametrize(
    ("when", "until", "symbol"),
    [
        (T, F, "waiting"),
        (T, U, "waiting"),
        (T, T, "normal"),
        (F, F, "normal"),
        (F, T, "normal"),
        (U, F, None),
        (U, T, None),
    ],
)
def test_raised(when: Truth, until: Truth, symbol: str | None) -> None:
    """By its condition, unless what ends it is true already; unknown while that is."""
    made = machine()
    made.judge(when, until, at(0))
    assert made.symbol() == (symbol or Unknown(Why.UNJUDGED, "last-job"))
    assert made.is_waiting is (symbol == "waiting")


@pytest.mark.parametrize("when", [F, U])
def test_its_condition_does_not_end_it(when: Truth) -> None:
    """Somebody is wanted until somebody came."""
    made = waiting()
    assert made.judge(when, F, at(10)) == ()
    assert made.symbol() == "waiting"


@pytest.mark.parametrize("until", [T, F, U])
def test_until(until: Truth) -> None:
    """Ends it only when known to be true."""
    made = waiting()
    changes = made.judge(T, until, at(10))
    assert kinds(changes) == ([Kind.ENDED] if until is T else [])
    assert made.is_waiting is (until is not T)


def test_collected() -> None:
    """By a person who names the occurrence; it shows when that is written down."""
    made = waiting()
    assert made.occurrence == "evening-1"
    change = done(made.collected("evening-1", "ann", at(10)))
    assert (change.kind, change.who, change.waits) == (Kind.COLLECTED, "ann", True)
    assert (made.state, made.symbol()) == (PromptState.SPENT, "waiting")
    made.confirmed(change.number)
    assert made.symbol() == "normal"


def test_a_late_word_ends_nothing_newer() -> None:
    """It names what it is about."""
    made = waiting()
    done(made.collected("evening-1", "ann", at(10)))
    again = made.collected("evening-1", "ann", at(11))
    assert again == Refusal(WhyRefused.ALREADY_COLLECTED)
    made.job_over(at(20))
    assert made.occurrence == "evening-2"
    late = made.collected("evening-1", "bob", at(30))
    assert late == Refusal(WhyRefused.ALREADY_COLLECTED, "evening-2 stands")
    stray = made.collected("s-9", "bob", at(31))
    assert stray == Refusal(WhyRefused.UNKNOWN_OCCURRENCE, "evening-2 stands")
    assert made.symbol() == "waiting"


@pytest.mark.parametrize("truth", [T, U])
def test_collected_stays_collected(truth: Truth) -> None:
    """The last job goes on being a completed one, and nobody is wanted for it."""
    made = waiting()
    done(made.collected("evening-1", "ann", at(10)))
    assert made.judge(truth, F, at(20)) == ()
    assert made.judge(T, F, at(30)) == ()
    assert made.state is PromptState.SPENT


def test_two_completed_jobs() -> None:
    """The outcome is the same word both times: that a job was over in between tells them apart."""
    made = waiting()
    assert kinds(made.next_job(at(10))) == [Kind.ENDED]
    assert made.judge(T, F, at(20)) == ()
    assert kinds(made.job_over(at(30))) == [Kind.READY, Kind.RAISED]
    assert made.occurrence == "evening-2"


def test_completed_then_aborted() -> None:
    """Judged before the job is told to be over, an old outcome raises nothing."""
    made = waiting()
    made.next_job(at(10))
    assert kinds(made.judge(F, F, at(30))) == [Kind.READY]
    assert made.job_over(at(30)) == ()
    assert made.symbol() == "normal"


def test_an_old_outcome_during_a_job() -> None:
    """Known again only when the next job runs, it is not of that job."""
    made = machine()
    made.judge(U, F, at(0))
    made.next_job(at(10))
    assert made.judge(T, F, at(20)) == ()
    assert made.symbol() == "normal"


def test_a_job_that_begins_with_nothing_to_collect() -> None:
    """Changes nothing, and writes nothing down."""
    made = machine()
    made.judge(F, F, at(0))
    assert made.next_job(at(10)) == ()
    assert kinds(made.judge(T, F, at(20))) == [Kind.RAISED]


def test_its_cause_gone_and_back() -> None:
    """What is not about jobs can be raised again once it was not so."""
    made = waiting()
    done(made.collected("evening-1", "ann", at(10)))
    assert kinds(made.judge(F, F, at(20))) == [Kind.READY]
    assert kinds(made.judge(T, F, at(30))) == [Kind.RAISED]


@pytest.mark.parametrize("state", list(PromptState))
def test_edited(state: PromptState) -> None:
    """Another ``when`` closes what stands; another ``until`` or order does not."""
    made = machine(prompt((DONE, LINK)))
    made.judge(F if state is PromptState.READY else T, F, at(0))
    if state is PromptState.SPENT:
        done(made.collected("evening-1", "ann", at(5)))
    assert made.adopt(prompt((LINK, DONE), until=(STOPPED,)), at(10)) == ()
    assert made.state is state
    changes = made.adopt(prompt((STOPPED,)), at(20))
    assert kinds(changes) == ([] if state is PromptState.READY else [Kind.WITHDRAWN])
    assert made.state is PromptState.READY
    assert made.symbol() == Unknown(Why.UNJUDGED, "state")


@pytest.mark.parametrize("state", list(PromptState))
def test_restored(state: PromptState) -> None:
    """Waits on, or stays done with; after an edit it is closed."""
    made = machine()
    made.judge(F if state is PromptState.READY else T, F, at(0))
    if state is PromptState.SPENT:
        done(made.collected("evening-1", "ann", at(5)))
    record = made.record(at(10))
    assert record.is_normal is (state is PromptState.READY)
    again = machine(seed="next")
    assert again.restore(record, Moment(0, WALL_MS + 9_000)) == ()
    assert again.record(Moment(1, WALL_MS + 9_001)) == record
    if state is not PromptState.READY:
        assert again.judge(T, F, at(20)) == ()
        assert again.state is state
    other = machine(prompt((STOPPED,)), seed="next")
    other.restore(record, at(20))
    assert other.state is PromptState.READY


def test_restored_without_a_wall_clock() -> None:
    """It waits all the same, and knows since when as soon as it can."""
    record = PromptRecord(
        "collect", "kestrel", prompt().when_text, PromptState.WAITING, "evening-1", WALL_MS
    )
    made = machine(seed="next")
    made.restore(record, Moment(0))
    assert made.symbol() == "waiting"
    assert made.raised is not None
    assert made.raised.ms is None
    made.clock(Moment(50, WALL_MS + 1_050))
    assert made.raised.ms == -1_000


def test_changes_say_what_happened() -> None:
    """Each with the resulting record, numbered and counted."""
    made = machine()
    (raised,) = made.judge(T, F, at(7))
    assert (raised.name, raised.printer, raised.before, raised.after) == (
        "collect",
        "kestrel",
        "ready",
        "waiting",
    )
    assert raised.record == made.record(at(7))
    (ended,) = made.next_job(at(9))
    assert (ended.reason, ended.number, ended.at, ended.occurrence) == (
        "next job",
        2,
        at(9),
        "evening-1",
    )
    assert made.counts == {Kind.RAISED: 1, Kind.ENDED: 1}


def test_at_first() -> None:
    """Nothing was judged yet."""
    assert machine().symbol() == Unknown(Why.UNJUDGED, "last-job")


def test_raised_names_its_occurrence() -> None:
    """So that who is told can answer."""
    (raised,) = machine().judge(T, F, at(0))
    assert raised.occurrence == "evening-1"


def test_an_edited_until_is_judged_anew() -> None:
    """What ended it by the old file ends nothing by the new one."""
    made = machine(prompt(until=(STOPPED,)))
    made.judge(T, T, at(0))
    edited = prompt(until=(LINK,))
    made.adopt(edited, at(10))
    assert made.prompt == edited
    made.job_over(at(20))
    assert made.is_waiting
