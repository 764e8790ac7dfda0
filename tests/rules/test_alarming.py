"""One alarm over time: delays, unknown truths, wishes, edits and starts."""

from __future__ import annotations

from itertools import product

import pytest

from bridge.facts.moment import Moment
from bridge.facts.truth import Truth
from bridge.facts.values import Unknown, Why
from bridge.rules.alarm import Escalation
from bridge.rules.alarm_records import Change, Kind, Refusal, WhyRefused
from bridge.rules.alarm_states import LOOKS, SEQUENCES, Sequence, Signal, State
from tests.rules.alarms import (
    DONE,
    PATHS,
    WALL_MS,
    F,
    T,
    U,
    alarm,
    at,
    done,
    give,
    in_state,
    kinds,
    machine,
)

HOUR_MS = 3_600_000
STATES = [(state, sequence) for state, sequence in LOOKS]


@pytest.mark.parametrize(("state", "sequence"), STATES, ids=str)
def test_what_a_state_says(state: State, sequence: Sequence) -> None:
    """Its word, its look, and whether its condition holds."""
    made = in_state(state, sequence)
    assert made.state is state
    assert made.symbol() == state.value
    assert made.look() == LOOKS[state, sequence]
    assert made.is_active is (state in {State.UNACKNOWLEDGED, State.ACKNOWLEDGED})
    assert (made.occurrence is None) is (state is State.NORMAL)


@pytest.mark.parametrize(
    ("on_ms", "truths", "raised_at"),
    [
        (0, [(0, T)], 0),
        (5_000, [(0, T)], 5_000),
        (5_000, [(0, T), (4_999, F), (6_000, T)], 11_000),
        (5_000, [(0, T), (4_999, U), (6_000, T)], 11_000),
        (5_000, [(0, U)], None),
        (5_000, [(0, F), (100, U)], None),
        # What is due at the very instant of the next truth has been true for long enough.
        (5_000, [(0, T), (5_000, F)], 5_000),
    ],
)
def test_on_delay(on_ms: int, truths: list[tuple[int, Truth]], raised_at: int | None) -> None:
    """Raised exactly one unbroken on-delay after it became true, however late it is settled."""
    made = machine(alarm(on_delay_ms=on_ms, off_delay_ms=HOUR_MS))
    changes = [change for ms, truth in truths for change in made.judge(truth, at(ms))]
    changes += made.settle(at(50_000))
    raised = [change.at for change in changes if change.kind is Kind.RAISED]
    assert raised == ([] if raised_at is None else [at(raised_at)])


@pytest.mark.parametrize(
    ("off_ms", "truths", "returned_at"),
    [
        (0, [(100, F)], 100),
        (5_000, [(100, F)], 5_100),
        (5_000, [(100, F), (5_099, T), (6_000, F)], 11_000),
        (5_000, [(100, F), (5_099, U), (6_000, F)], 11_000),
        (5_000, [(100, U)], None),
    ],
)
def test_off_delay(off_ms: int, truths: list[tuple[int, Truth]], returned_at: int | None) -> None:
    """Returned exactly one unbroken off-delay after it became false."""
    made = machine(alarm(off_delay_ms=off_ms))
    made.judge(T, at(0))
    changes = [change for ms, truth in truths for change in made.judge(truth, at(ms))]
    changes += made.settle(at(50_000))
    returned = [change.at for change in changes if change.kind is Kind.RETURNED]
    assert returned == ([] if returned_at is None else [at(returned_at)])


@pytest.mark.parametrize(("state", "sequence"), STATES, ids=str)
def test_unknown_freezes_every_state(state: State, sequence: Sequence) -> None:
    """It keeps its look, marked with since when; normal is then unknown."""
    made = in_state(state, sequence)
    made.judge(U, at(1_000))
    assert made.settle(at(HOUR_MS * 100)) == ()
    assert made.state is state
    since = made.unconfirmed_since()
    if state is State.NORMAL:
        assert made.symbol() == Unknown(Why.UNJUDGED, "state")
        assert since is None
    else:
        assert made.symbol() == state.value
        assert since is not None
        assert since.ms == 1_000


def test_unknown_from_the_start() -> None:
    """Nothing was judged yet."""
    assert machine().symbol() == Unknown(Why.UNJUDGED, "state")


@pytest.mark.parametrize(
    ("truths", "is_new"),
    [
        ([(1_000, U), (11_000, T)], False),
        ([(1_000, U), (11_001, T)], True),
        ([(1_000, F), (10_999, T)], False),
        ([(1_000, U), (6_000, F), (11_001, T)], True),
        ([(1_000, F), (6_000, U), (11_001, T)], True),
        ([(1_000, U), (5_000, T), (5_001, U), (12_000, T)], False),
    ],
)
def test_unseen_for_longer_than_the_off_delay(
    truths: list[tuple[int, Truth]], is_new: bool
) -> None:
    """An acknowledged one may have returned meanwhile: true again, it is another occurrence."""
    made = machine(alarm(on_delay_ms=3_000, off_delay_ms=10_000))
    made.judge(T, at(-5_000))
    made.settle(at(0))
    first = made.occurrence or ""
    done(made.acknowledge(first, "ann", at(500)))
    changes = [change for ms, truth in truths for change in made.judge(truth, at(ms))]
    assert kinds(changes) == ([Kind.RAISED] if is_new else [])
    assert (made.occurrence != first) is is_new
    assert made.state is (State.UNACKNOWLEDGED if is_new else State.ACKNOWLEDGED)


def test_acknowledged_while_unknown() -> None:
    """Whoever acknowledges has looked: only what goes unseen after that counts."""
    made = machine(alarm(off_delay_ms=10_000))
    made.judge(T, at(0))
    made.judge(U, at(1_000))
    done(made.acknowledge(made.occurrence or "", "ann", at(60_000)))
    assert made.judge(T, at(70_000)) == ()
    assert made.state is State.ACKNOWLEDGED


@pytest.mark.parametrize("sequence", SEQUENCES)
def test_occurrences(sequence: Sequence) -> None:
    """Kept when raised again unacknowledged, new after an acknowledgement; named by the seed."""
    made = machine(alarm(sequence), seed="s7")
    made.judge(T, at(0))
    made.judge(F, at(10))
    made.judge(T, at(20))
    assert made.occurrence == "s7-1"
    done(made.acknowledge("s7-1", "ann", at(30)))
    made.judge(F, at(40))
    (raised,) = made.judge(T, at(50))
    assert raised.occurrence == "s7-2" == made.occurrence
    late = made.acknowledge("s7-1", "bob", at(60))
    assert late == Refusal(WhyRefused.ALREADY_ACKNOWLEDGED, "s7-2 stands")
    assert made.state is State.UNACKNOWLEDGED


REFUSALS = [
    (State.NORMAL, "A", Signal.ACKNOWLEDGE, WhyRefused.UNKNOWN_OCCURRENCE),
    (State.NORMAL, "A", Signal.RESET, WhyRefused.UNKNOWN_OCCURRENCE),
    (State.UNACKNOWLEDGED, "A", Signal.RESET, WhyRefused.NO_RESET),
    (State.UNACKNOWLEDGED, "M", Signal.RESET, WhyRefused.NOT_ACKNOWLEDGED),
    (State.ACKNOWLEDGED, "A", Signal.ACKNOWLEDGE, WhyRefused.ALREADY_ACKNOWLEDGED),
    (State.ACKNOWLEDGED, "A", Signal.RESET, WhyRefused.NO_RESET),
    (State.ACKNOWLEDGED, "R", Signal.RESET, WhyRefused.STILL_ACTIVE),
    (State.RETURNED, "R", Signal.RESET, WhyRefused.NOT_ACKNOWLEDGED),
    (State.LATCHED, "M", Signal.ACKNOWLEDGE, WhyRefused.ALREADY_ACKNOWLEDGED),
]


@pytest.mark.parametrize(("state", "sequence", "signal", "why"), REFUSALS, ids=str)
def test_refusals(state: State, sequence: Sequence, signal: Signal, why: WhyRefused) -> None:
    """A wish that leads nowhere is answered with why, and changes nothing."""
    made = in_state(state, sequence)
    occurrence, before = made.occurrence or "evening-9", made.record(at(10))
    wish = made.acknowledge if signal is Signal.ACKNOWLEDGE else made.reset
    answer = wish(occurrence, "ann", at(10))
    assert isinstance(answer, Refusal)
    assert answer.why is why
    assert made.record(at(10)) == before


@pytest.mark.parametrize("sequence", SEQUENCES)
def test_what_shows_of_a_wish_waits_for_its_record(sequence: Sequence) -> None:
    """The state moves at once, the lamp when it is written down; a raise never waits."""
    made = in_state(State.RETURNED, sequence)
    change = done(made.acknowledge(made.occurrence or "", "ann", at(10)))
    assert change.waits
    after = State.NORMAL if sequence == "A" else State.LATCHED
    assert (made.state, made.symbol(), made.look()) == (after, "returned", "unacknowledged")
    made.confirmed(change.number)
    assert made.symbol() == after.value
    again = in_state(State.RETURNED, sequence)
    change = done(again.acknowledge(again.occurrence or "", "ann", at(10)))
    again.judge(T, at(20))
    assert again.symbol() == "unacknowledged"
    again.confirmed(change.number)
    assert again.symbol() == "unacknowledged"


def test_a_return_while_an_acknowledgement_is_written() -> None:
    """It goes on flashing until that is safe, and is off then."""
    made = in_state(State.UNACKNOWLEDGED, "A")
    change = done(made.acknowledge(made.occurrence or "", "ann", at(10)))
    made.judge(F, at(20))
    assert (made.state, made.symbol()) == (State.NORMAL, "unacknowledged")
    made.confirmed(change.number)
    assert made.symbol() == "normal"


@pytest.mark.parametrize(("state", "sequence"), STATES, ids=str)
def test_shelved(state: State, sequence: Sequence) -> None:
    """Hidden until its time, and then whatever is so by then."""
    made = in_state(state, sequence)
    change = done(made.shelve(WALL_MS + HOUR_MS, "spool ordered", "ann", at(10)))
    assert (change.kind, change.waits, change.reason) == (Kind.SHELVED, True, "spool ordered")
    assert made.symbol() == state.value
    made.confirmed(change.number)
    assert (made.symbol(), made.look()) == ("shelved", "normal")
    assert made.deadline() == HOUR_MS
    (back,) = made.settle(at(HOUR_MS + 7))
    assert (back.kind, back.at, back.who) == (Kind.UNSHELVED, at(HOUR_MS), "")
    assert made.symbol() == state.value


def test_raised_while_hidden() -> None:
    """It is judged on beneath, and shows at the end as new."""
    made = in_state(State.NORMAL, "A")
    made.confirmed(done(made.out_of_service("sensor broken", "ann", at(10))).number)
    assert kinds(made.judge(T, at(20))) == [Kind.RAISED]
    assert made.symbol() == "out-of-service"
    assert done(made.return_to_service("ann", at(30))).kind is Kind.IN_SERVICE
    assert made.symbol() == "unacknowledged"


def test_taken_back_early() -> None:
    """By a person, at once; what is not there cannot be."""
    made = in_state(State.UNACKNOWLEDGED, "A")
    assert made.unshelve("ann", at(5)) == Refusal(WhyRefused.NOT_SHELVED)
    made.confirmed(done(made.shelve(WALL_MS + HOUR_MS, "later", "ann", at(10))).number)
    change = done(made.unshelve("bob", at(20)))
    assert (change.who, change.waits, made.symbol()) == ("bob", False, "unacknowledged")
    assert made.deadline() is None


ESCALATE = Escalation(after_ms=60_000, segments=("door",), publish="alder/help")


@pytest.mark.parametrize("truth", [T, F, U])
def test_escalates_when_nobody_answers(truth: Truth) -> None:
    """Once, at its own time, returned or unknown or not, until acknowledged."""
    made = machine(alarm(escalate=ESCALATE))
    made.judge(T, at(0))
    made.judge(truth, at(1_000))
    assert made.deadline() == 60_000
    (change,) = made.settle(at(90_000))
    assert (change.kind, change.at, made.escalated) == (Kind.ESCALATED, at(60_000), True)
    assert made.deadline() is None
    acknowledged = done(made.acknowledge(made.occurrence or "", "ann", at(91_000)))
    assert made.escalated
    made.confirmed(acknowledged.number)
    assert not made.escalated


def test_no_escalation_in_time_or_under_a_shelf() -> None:
    """Not what is acknowledged; what was hidden over its time escalates when it comes back."""
    made = machine(alarm(escalate=ESCALATE))
    made.judge(T, at(0))
    done(made.acknowledge(made.occurrence or "", "ann", at(59_999)))
    assert made.deadline() is None
    hidden = machine(alarm(escalate=ESCALATE))
    hidden.judge(T, at(0))
    hidden.confirmed(done(hidden.shelve(WALL_MS + 100_000, "later", "ann", at(10))).number)
    changes = hidden.settle(at(200_000))
    assert kinds(changes) == [Kind.UNSHELVED, Kind.ESCALATED]
    assert [change.at for change in changes] == [at(100_000), at(100_000)]


def test_standing() -> None:
    """Active for more than a day, counted from when it last became so."""
    made = in_state(State.UNACKNOWLEDGED, "A")
    assert not made.is_standing(at(24 * HOUR_MS))
    assert made.is_standing(at(24 * HOUR_MS + 1))
    made.judge(F, at(25 * HOUR_MS))
    assert not made.is_standing(at(25 * HOUR_MS))


@pytest.mark.parametrize(
    ("pairs", "period_ms", "is_chattering"), [(2, 10, False), (3, 29_990, True), (3, 30_001, False)]
)
def test_chattering(pairs: int, period_ms: int, is_chattering: bool) -> None:
    """Three raise-and-return pairs in a minute (EEMUA 191), and over when that minute is."""
    made = machine()
    for pair in range(pairs):
        made.judge(T, at(pair * period_ms))
        made.judge(F, at(pair * period_ms + 1))
    last_ms = (pairs - 1) * period_ms + 1
    assert made.is_chattering(at(last_ms)) is is_chattering
    assert not made.is_chattering(at(60_001))
    made.withdraw(at(last_ms))
    assert not made.is_chattering(at(last_ms))


@pytest.mark.parametrize(
    ("was_ms", "is_ms", "ends_at"),
    [(5_000, 8_000, 8_000), (8_000, 5_000, 5_000), (8_000, 2_000, 4_000)],
)
@pytest.mark.parametrize("truth", [T, F])
def test_an_edit_of_a_running_delay(was_ms: int, is_ms: int, ends_at: int, truth: Truth) -> None:
    """It keeps its start and takes the new length, ending at the reload if already over."""
    made = machine(alarm(on_delay_ms=was_ms if truth is T else 0, off_delay_ms=was_ms))
    if truth is F:
        made.judge(T, at(-1))
    made.judge(truth, at(0))
    changes = list(made.adopt(alarm(on_delay_ms=is_ms, off_delay_ms=is_ms), at(4_000)))
    changes += made.settle(at(20_000))
    assert [(change.kind, change.at) for change in changes] == [
        (Kind.RAISED if truth is T else Kind.RETURNED, at(ends_at))
    ]


@pytest.mark.parametrize(("state", "sequence"), STATES, ids=str)
def test_another_condition_closes(state: State, sequence: Sequence) -> None:
    """Withdrawn by edit, with what hid it; nothing is left of its delays."""
    made = in_state(state, sequence)
    made.confirmed(done(made.shelve(WALL_MS + HOUR_MS, "later", "ann", at(10))).number)
    occurrence = made.occurrence
    (change,) = made.adopt(alarm(sequence, when=(DONE,)), at(20))
    assert (change.kind, change.occurrence) == (Kind.WITHDRAWN, occurrence)
    assert (made.state, made.occurrence, made.deadline()) == (State.NORMAL, None, None)
    assert made.symbol() == Unknown(Why.UNJUDGED, "last-job")
    assert change.record.is_normal
    assert made.withdraw(at(30)) == ()


@pytest.mark.parametrize(
    ("state", "sequence", "edited"),
    [
        (state, before, after)
        for (state, before), after in product(STATES, SEQUENCES)
        if before != after
    ],
    ids=str,
)
def test_another_sequence(state: State, sequence: Sequence, edited: Sequence) -> None:
    """Stays where it is, but for what is latched: sequence A has no such state."""
    made = in_state(state, sequence)
    changes = made.adopt(alarm(edited), at(20))
    closes = state is State.LATCHED and edited == "A"
    assert kinds(changes) == ([Kind.WITHDRAWN] if closes else [])
    assert made.state is (State.NORMAL if closes else state)
    assert made.look() == LOOKS[made.state, edited]


def test_a_sequence_edited_while_a_reset_is_written() -> None:
    """What still shows latched cannot in sequence A."""
    made = in_state(State.LATCHED, "M")
    done(made.reset(made.occurrence or "", "ann", at(10)))
    assert made.look() == "acknowledged"
    made.adopt(alarm("A"), at(20))
    assert made.look() == "normal"


@pytest.mark.parametrize(("state", "sequence"), STATES, ids=str)
def test_restored(state: State, sequence: Sequence) -> None:
    """Every state comes back from its record, unconfirmed, without an acknowledgement lost."""
    made = in_state(state, sequence)
    record = made.record(at(100))
    again = machine(alarm(sequence), seed="next")
    assert again.restore(record, Moment(5, WALL_MS + 2_000), WALL_MS + 1_500) == ()
    assert (again.state, again.occurrence) == (state, made.occurrence)
    assert again.acknowledged == made.acknowledged
    back = again.record(Moment(6, WALL_MS + 2_001))
    assert (back.raised_wall_ms, back.active_wall_ms) == (
        record.raised_wall_ms,
        record.active_wall_ms,
    )
    since = again.unconfirmed_since()
    assert (since is None) is (state is State.NORMAL)
    if since is not None:
        assert since.wall_ms == WALL_MS + 1_500


@pytest.mark.parametrize(
    ("now", "heard_ms", "is_new"),
    [
        # Acknowledged at 500 ms, off-delay 10 s, true again in the very first message.
        (Moment(0, WALL_MS + 60_000), WALL_MS + 50_000, False),
        (Moment(0, WALL_MS + 60_001), WALL_MS + 50_000, True),
        (Moment(0, WALL_MS + 60_000), None, True),
        (Moment(0, WALL_MS + 10_500), None, False),
        (Moment(0), WALL_MS + 50_000, True),
    ],
)
def test_acknowledged_before_the_start(now: Moment, heard_ms: int | None, is_new: bool) -> None:
    """Unseen for longer than its off-delay it is new; so it is where that cannot be known."""
    made = machine(alarm(off_delay_ms=10_000))
    made.judge(T, at(0))
    done(made.acknowledge(made.occurrence or "", "ann", at(500)))
    again = machine(alarm(off_delay_ms=10_000), seed="next")
    again.restore(made.record(at(500)), now, heard_ms)
    assert kinds(again.judge(T, now)) == ([Kind.RAISED] if is_new else [])


def test_restored_before_the_wall_clock_is_known() -> None:
    """Once it is, how long ago things were is settled, whatever that clock does afterwards."""
    made = machine(alarm(off_delay_ms=10_000))
    made.judge(T, at(0))
    done(made.acknowledge(made.occurrence or "", "ann", at(500)))
    again = machine(alarm(off_delay_ms=10_000), seed="next")
    again.restore(made.record(at(500)), Moment(0))
    assert not again.is_standing(Moment(0))
    again.clock(Moment(100, WALL_MS + 3_000))
    since = again.unconfirmed_since()
    assert since is not None
    assert since.ms == 100 - 2_500
    assert again.is_standing(Moment(24 * HOUR_MS))
    stepped = Moment(7_000, WALL_MS + HOUR_MS)
    assert again.judge(T, stepped) == ()


def test_a_raise_that_waited_is_judged_again() -> None:
    """An on-delay that ran when the power went starts with the facts of the new start."""
    made = machine(alarm(on_delay_ms=5_000))
    made.judge(T, at(0))
    record = made.record(at(4_999))
    assert record.is_normal
    again = machine(alarm(on_delay_ms=5_000))
    again.restore(record, at(6_000))
    assert again.settle(at(100_000)) == ()
    again.judge(T, at(100_000))
    assert again.deadline() == 105_000


def test_restored_shelf() -> None:
    """Acts once the wall clock is known; one that ended meanwhile is over."""
    made = in_state(State.UNACKNOWLEDGED, "A")
    made.confirmed(done(made.shelve(WALL_MS + HOUR_MS, "later", "ann", at(10))).number)
    record = made.record(at(10))
    blind = machine(seed="next")
    blind.restore(record, Moment(0))
    assert blind.symbol() == "unacknowledged"
    assert blind.clock(Moment(50, WALL_MS + 1_000)) == ()
    assert (blind.symbol(), blind.deadline()) == ("shelved", 50 + HOUR_MS - 1_000)
    late = machine(seed="next")
    assert kinds(late.restore(record, Moment(0, WALL_MS + HOUR_MS))) == [Kind.UNSHELVED]
    assert late.symbol() == "unacknowledged"


def test_restored_after_an_edit() -> None:
    """Another condition, or a sequence without its state, closes it at the start."""
    latched = in_state(State.LATCHED, "R").record(at(10))
    for declared in (alarm("R", when=(DONE,)), alarm("A")):
        again = machine(declared, seed="next")
        (change,) = again.restore(latched, at(20))
        assert (change.kind, change.before, again.state) == (
            Kind.WITHDRAWN,
            "latched",
            State.NORMAL,
        )


def test_restored_escalation() -> None:
    """Counts on over the restart: from the start, until the wall clock says how far it is."""
    made = machine(alarm(escalate=ESCALATE))
    made.judge(T, at(0))
    again = machine(alarm(escalate=ESCALATE), seed="next")
    again.restore(made.record(at(10)), Moment(0))
    assert again.deadline() == ESCALATE.after_ms
    (change,) = again.clock(Moment(7, WALL_MS + 90_000))
    assert (change.kind, change.at.ms, again.escalated) == (Kind.ESCALATED, 7, True)
    overdue = machine(alarm(escalate=ESCALATE), seed="overdue")
    (change,) = overdue.restore(made.record(at(10)), Moment(7, WALL_MS + 90_000))
    assert (change.kind, change.at.ms) == (Kind.ESCALATED, 7)
    record = again.record(Moment(8, WALL_MS + 90_001))
    third = machine(alarm(escalate=ESCALATE), seed="third")
    third.restore(record, Moment(0, WALL_MS + 95_000))
    assert third.escalated
    assert third.deadline() is None


def test_every_change_carries_the_resulting_record() -> None:
    """And says what it was of, by whom and why; counted by kind."""
    made = machine(alarm("M"))
    changes: list[Change] = [*made.judge(T, at(0))]
    changes.append(done(made.acknowledge("evening-1", "ann", at(1))))
    changes += made.judge(F, at(2))
    changes.append(done(made.reset("evening-1", "bob", at(3))))
    assert [(change.before, change.after, change.who) for change in changes] == [
        ("normal", "unacknowledged", ""),
        ("unacknowledged", "acknowledged", "ann"),
        ("acknowledged", "latched", ""),
        ("latched", "normal", "bob"),
    ]
    assert {change.occurrence for change in changes} == {"evening-1"}
    assert [change.record.state.value for change in changes] == [change.after for change in changes]
    assert [change.number for change in changes] == [1, 2, 3, 4]
    assert set(made.counts.values()) == {1}


def test_wall_times_are_worked_out_when_the_clock_is_known() -> None:
    """A record of what happened before has its time, anew."""
    made = machine()
    (change,) = made.judge(T, Moment(1_000))
    assert isinstance(change.record, type(made.record(at(0))))
    assert change.record.raised_wall_ms is None
    now = Moment(5_000, WALL_MS)
    assert made.clock(now) == ()
    assert made.record(now).raised_wall_ms == WALL_MS - 4_000


@pytest.mark.parametrize("state", list(State))
def test_the_paths_of_these_tests(state: State) -> None:
    """Each signal of a path is taken where it stands."""
    made = machine(alarm("M"))
    for signal in PATHS[state]:
        give(made, signal, at(0))
    assert made.state is state


def test_not_escalated() -> None:
    """Before anything happened, while it is hidden, and where an edit took escalation out."""
    made = machine(alarm(escalate=ESCALATE))
    assert not made.escalated
    made.judge(T, at(0))
    made.settle(at(60_000))
    shelved = done(made.shelve(WALL_MS + HOUR_MS, "later", "ann", at(60_001)))
    seen = [made.escalated]
    made.confirmed(shelved.number)
    seen.append(made.escalated)
    done(made.unshelve("ann", at(60_002)))
    seen.append(made.escalated)
    made.adopt(alarm(), at(60_003))
    assert [*seen, made.escalated] == [True, False, True, False]


def test_true_again_it_is_no_longer_unseen() -> None:
    """The record of one whose condition is known to hold says nothing of before."""
    made = in_state(State.UNACKNOWLEDGED, "A")
    made.judge(U, at(10))
    assert made.record(at(20)).true_until_wall_ms == WALL_MS + 10
    made.judge(T, at(30))
    assert made.record(at(40)).true_until_wall_ms is None
