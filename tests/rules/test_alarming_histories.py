"""Random histories of an alarm: what must hold whatever happens, in whatever order, however late.

``Story`` feeds a machine as the core does: everything that is due first, then what happened.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.truth import Truth
from bridge.rules.alarm import Alarm, Escalation
from bridge.rules.alarm_records import AlarmRecord, Change, Kind
from bridge.rules.alarm_states import ACTIVE, LOOKS, TRANSITIONS, UNACKNOWLEDGED, Signal, State
from bridge.rules.alarming import AlarmMachine
from tests.rules.alarms import WALL_MS, F, T, U, alarm, at, machine

Step: TypeAlias = tuple[
    int,
    Truth | Literal["acknowledge", "acknowledge old", "reset", "shelve", "unshelve", "out", "in"],
]

TRUTHS = st.sampled_from([T, T, F, F, U])
WISHES = st.sampled_from(
    ["acknowledge", "acknowledge", "acknowledge old", "reset", "shelve", "unshelve", "out", "in"]
)
#: Short steps, so that delays, their ends and ties between them are met often.
GAPS = st.integers(0, 8)
STEPS = st.lists(st.tuples(GAPS, st.one_of(TRUTHS, WISHES)), max_size=30)
ESCALATIONS = st.one_of(st.none(), st.builds(Escalation, after_ms=st.integers(0, 20)))
ALARMS = st.builds(
    alarm,
    st.sampled_from(["A", "M", "R"]),
    st.integers(0, 6),
    st.integers(0, 6),
    escalate=ESCALATIONS,
)


@dataclass
class Story:
    """A machine, its clock, and all that it said."""

    made: AlarmMachine
    ms: int = 0
    changes: list[Change] = field(default_factory=list)
    #: Every occurrence that ever stood.
    named: list[str] = field(default_factory=list)

    def settle(self, ms: int) -> None:
        """Let time come to ``ms``."""
        self.ms = ms
        self._keep(self.made.settle(at(ms)))

    def take(self, what: object) -> None:
        """Let something happen now; a wish is written down at once."""
        made, now = self.made, at(self.ms)
        if isinstance(what, Truth):
            self._keep(made.judge(what, now))
            return
        occurrence = made.occurrence or "none"
        match what:
            case "acknowledge":
                answer = made.acknowledge(occurrence, "ann", now)
            case "acknowledge old":
                answer = made.acknowledge(self.old, "ann", now)
            case "reset":
                answer = made.reset(occurrence, "ann", now)
            case "shelve":
                answer = made.shelve(WALL_MS + self.ms + 7, "later", "ann", now)
            case "unshelve":
                answer = made.unshelve("ann", now)
            case "out":
                answer = made.out_of_service("sensor broken", "ann", now)
            case _:
                answer = made.return_to_service("ann", now)
        if isinstance(answer, Change):
            self._keep((answer,))
            made.confirmed(answer.number)

    @property
    def old(self) -> str:
        """An occurrence before the one that stands."""
        return next((name for name in reversed(self.named) if name != self.made.occurrence), "none")

    def _keep(self, changes: tuple[Change, ...]) -> None:
        self.changes += changes
        self.named += [c.occurrence for c in changes if c.kind is Kind.RAISED and c.occurrence]


def told(declared: Alarm, steps: list[Step]) -> Story:
    """The story of these steps."""
    story = Story(machine(declared))
    for gap, what in steps:
        story.settle(story.ms + gap)
        story.take(what)
    return story


@given(ALARMS, STEPS, st.lists(st.integers(0, 300), max_size=40))
def test_late_or_in_time_is_the_same(declared: Alarm, steps: list[Step], timers: list[int]) -> None:
    """However often timers fire, and at which instants, the same happens at the same instants."""
    late = told(declared, steps)
    prompt = Story(machine(declared))
    ms = 0
    for gap, what in steps:
        for timer in sorted(timer for timer in timers if ms < timer <= ms + gap):
            prompt.settle(timer)
        while (due := prompt.made.deadline()) is not None and due <= ms + gap:
            prompt.settle(due)
        ms += gap
        prompt.settle(ms)
        prompt.take(what)
    assert prompt.changes == late.changes
    assert prompt.made.deadline() == late.made.deadline()
    late.settle(ms + 100)
    while (due := prompt.made.deadline()) is not None and due <= ms + 100:
        prompt.settle(due)
    assert prompt.changes == late.changes
    assert [change.at.ms for change in late.changes] == sorted(c.at.ms for c in late.changes)


@given(ALARMS, STEPS)
def test_settled_there_is_nothing_due(declared: Alarm, steps: list[Step]) -> None:
    """After an instant was settled, the next deadline lies behind it, and settling adds nothing."""
    story = told(declared, steps)
    # A wish can make something due at its own instant: back in service, an escalation is overdue.
    story.made.settle(at(story.ms))
    assert story.made.settle(at(story.ms)) == ()
    due = story.made.deadline()
    assert due is None or due > story.ms


@given(ALARMS, STEPS)
def test_every_change_is_in_the_table(declared: Alarm, steps: list[Step]) -> None:
    """Each of the life's changes is a transition, and each state one of the sequence's."""
    signals = {
        Kind.RAISED: Signal.RAISE,
        Kind.RETURNED: Signal.RETURN,
        Kind.ACKNOWLEDGED: Signal.ACKNOWLEDGE,
        Kind.RESET: Signal.RESET,
    }
    state = State.NORMAL
    for change in told(declared, steps).changes:
        assert change.before == state.value
        if change.kind in signals:
            state = TRANSITIONS[declared.sequence][state, signals[change.kind]]
        assert change.after == state.value
        assert (state, declared.sequence) in LOOKS


@given(ALARMS, STEPS)
def test_occurrences_stand_until_acknowledged(declared: Alarm, steps: list[Step]) -> None:
    """A name never comes twice as new, and only the acknowledgement that bears it silences it."""
    acknowledged: set[str | None] = set()
    standing: str | None = None
    for change in told(declared, steps).changes:
        if change.kind is Kind.RAISED:
            if standing in acknowledged or standing is None:
                assert change.occurrence != standing
                assert change.occurrence not in acknowledged
            else:
                assert change.occurrence == standing
            standing = change.occurrence
        elif change.kind is Kind.ACKNOWLEDGED:
            assert change.occurrence == standing
            acknowledged.add(standing)
        record = change.record
        assert isinstance(record, AlarmRecord)
        if standing is not None and standing not in acknowledged:
            assert record.state in UNACKNOWLEDGED
        if record.state is State.NORMAL:
            standing = None


@given(ALARMS, STEPS, STEPS)
def test_no_acknowledgement_silences_a_later_raise(
    declared: Alarm, before: list[Step], after: list[Step]
) -> None:
    """Issued at some instant and delivered at any later one, it ends nothing raised between."""
    story = told(declared, before)
    issued_for = story.made.occurrence
    seen = set(story.named)
    for gap, what in after:
        story.settle(story.ms + gap)
        story.take(what)
    story.settle(story.ms)
    state, stands = story.made.state, story.made.occurrence
    story.made.acknowledge(issued_for or "none", "late", at(story.ms))
    if stands not in seen:
        assert (story.made.state, story.made.occurrence) == (state, stands)


@given(ALARMS, st.lists(st.tuples(GAPS, TRUTHS), max_size=30))
def test_a_fault_past_its_on_delay_is_raised(
    declared: Alarm, steps: list[tuple[int, Truth]]
) -> None:
    """I3: true without a break for the on-delay, it is active; and never without that."""
    story = Story(machine(declared))
    true_since: int | None = None
    for gap, truth in steps:
        story.settle(story.ms + gap)
        if true_since is not None and story.ms - true_since >= declared.on_delay_ms:
            assert story.made.state in ACTIVE
        story.take(truth)
        true_since = None if truth is not T else story.ms if true_since is None else true_since
    spells = _true_spells(steps, declared.on_delay_ms)
    raised = [change.at.ms for change in story.changes if change.kind is Kind.RAISED]
    assert set(raised) <= set(spells)


def _true_spells(steps: list[tuple[int, Truth]], on_delay_ms: int) -> list[int]:
    """The instants at which an unbroken truth is as old as the on-delay."""
    ms, since, ends = 0, None, []
    for gap, truth in [*steps, (0, F)]:
        ms += gap
        if truth is T and since is None:
            since = ms
        elif truth is not T and since is not None:
            ends.append(since + on_delay_ms)
            since = None
    return ends


@given(ALARMS, STEPS)
def test_unknown_neither_raises_nor_returns(declared: Alarm, steps: list[Step]) -> None:
    """Whatever happened before, the life stands still while nothing is known."""
    story = told(declared, steps)
    story.take(U)
    state = story.made.state
    count = len(story.changes)
    story.settle(story.ms + 1_000)
    assert story.made.state is state
    assert {c.kind for c in story.changes[count:]} <= {Kind.UNSHELVED, Kind.ESCALATED}


@given(ALARMS, STEPS, st.integers(0, 12), STEPS)
def test_a_restart_is_a_while_of_knowing_nothing(
    declared: Alarm, before: list[Step], down_ms: int, after: list[Step]
) -> None:
    """Restored from its record, it does what it would have done with its condition unknown.

    What waited for its on-delay waits anew; what is new bears another start's seed.
    """
    through = told(declared, before)
    restarted = Story(machine(declared, seed="next"))
    record = through.made.record(at(through.ms))
    through.take(U)
    heard_ms, ms = through.ms, through.ms + down_ms
    through.settle(ms)
    restarted.ms = ms
    changes = restarted.made.restore(record, at(ms), WALL_MS + heard_ms)
    assert {change.kind for change in changes} <= {Kind.UNSHELVED, Kind.ESCALATED}
    restarted.named = list(through.named)
    seen = len(through.changes)
    for gap, what in after:
        for story in (through, restarted):
            story.settle(story.ms + gap)
            story.take(what)
        assert restarted.made.state is through.made.state
        assert restarted.made.symbol() == through.made.symbol()
        assert restarted.made.look() == through.made.look()
        assert restarted.made.escalated == through.made.escalated
        assert restarted.made.deadline() == through.made.deadline()
    assert [(c.kind, c.at, c.after) for c in restarted.changes] == [
        (c.kind, c.at, c.after) for c in through.changes[seen:]
    ]


@given(ALARMS, STEPS, st.integers(0, 12))
def test_records_survive_a_chain_of_starts(
    declared: Alarm, steps: list[Step], down_ms: int
) -> None:
    """Restored and recorded again, nothing is lost and nothing drifts."""
    story = told(declared, steps)
    record = story.made.record(at(story.ms))
    if record.shelf is not None and record.shelf.until_wall_ms <= WALL_MS + story.ms + down_ms:
        return  # its end is what changes
    quiet = replace(declared, escalate=None)
    again = machine(quiet, seed="next")
    again.restore(record, at(story.ms + down_ms))
    back = again.record(at(story.ms + down_ms))
    assert _lasting(back) == _lasting(record)


def _lasting(record: AlarmRecord) -> AlarmRecord:
    """Without what says when it was written and since when nothing was known."""
    return replace(
        record,
        written_wall_ms=None,
        unconfirmed_since_wall_ms=None,
        true_until_wall_ms=None,
    )
