"""What the bridge remembers: jobs that end, vanish and stall, and since when things are so."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.memory import (
    OWN_REASONS,
    REMEMBERED,
    STALLED,
    VANISHED,
    Memory,
    MemoryRecord,
    Remembered,
)
from bridge.facts.moment import Moment
from bridge.facts.reasons import parse_reason
from bridge.facts.values import Facts, FactValue, Reasons, Severity, Unknown, Why

WALL_MS = 1_736_186_400_000
MINUTE_MS = 60_000
NOT_HEARD = Unknown(Why.NOT_HEARD)
LINK_DOWN = Unknown(Why.LINK_NOT_UP)
NO_REASONS = Reasons(())


def at(ms: int) -> Moment:
    """An instant of the evening."""
    return Moment(ms, WALL_MS + ms)


def facts(
    state: str | None = "idle",
    job: str | None = "no-value",
    progress: float | None = None,
    link: str = "up",
    **more: FactValue,
) -> Facts:
    """What a printer says that can say everything; ``None`` is not known."""
    return {
        "link": link,
        "state": state or NOT_HEARD,
        "job": job or NOT_HEARD,
        "progress": NOT_HEARD if progress is None else progress,
        "reasons": NO_REASONS,
        **{name.replace("_", "-"): value for name, value in more.items()},
    }


IDLE = facts()
AT_63 = facts("processing", "processing", 0.63)
DONE = facts("idle", "completed", 1.0)
CUT = facts(None, None, None, "down", reasons=LINK_DOWN)
LOST: Facts = {**CUT, "link": Unknown(Why.SOURCE_LOST)}


def after(*told: tuple[int, Facts], upto: int = 0) -> Memory:
    """A memory that was told these."""
    memory = Memory("kestrel")
    for ms, said in told:
        memory.judge(said, at(ms))
    memory.settle(at(max([upto, *(ms for ms, _ in told)])))
    return memory


def fact(memory: Memory, name: str) -> FactValue:
    """One of its facts, as it is now."""
    return memory.facts[name]


def test_at_first() -> None:
    """Nothing was offered yet, and the bridge found nothing itself."""
    memory = Memory("kestrel")
    assert set(memory.facts) == REMEMBERED
    own = memory.facts.pop(OWN_REASONS)
    assert own == Reasons(())
    assert all(value == Unknown(Why.NOT_OFFERED) for value in memory.facts.values())
    assert memory.deadline() is None


def test_its_own_reasons_are_all_known_of_a_printer_that_gives_none() -> None:
    """So that an alarm on a vanished job can return, whatever else may be wrong."""
    memory = Memory("kestrel")
    silent = Unknown(Why.NOT_OFFERED)
    memory.judge({**AT_63, "reasons": silent}, at(0))
    memory.judge({**CUT, "reasons": silent}, at(100))
    assert fact(memory, OWN_REASONS) == Reasons((VANISHED,))
    assert fact(memory, "reasons") == Reasons((VANISHED,), silent)
    memory.judge({**AT_63, "progress": 0.01, "job-name": "keel", "reasons": silent}, at(200))
    assert fact(memory, OWN_REASONS) == Reasons(())
    assert fact(memory, "reasons") == silent


@pytest.mark.parametrize("outcome", ["completed", "canceled", "aborted"])
def test_an_outcome(outcome: str) -> None:
    """A job that ends with a word is over, and the word is the last job."""
    memory = Memory("kestrel")
    assert memory.judge(AT_63, at(0)).begun
    over = memory.judge(facts("idle", outcome), at(100))
    assert (over.ended, over.begun, over.keep) == (True, False, True)
    assert "last-job" in over.changed
    assert memory.facts["last-job"] == outcome
    assert (memory.job, memory.vanished, memory.own_reasons) == (None, None, ())


VANISHING = [
    # The printer rests, and nobody says how the job ended.
    ([(0, AT_63), (100, IDLE)], 10_100, True),
    ([(0, AT_63), (100, IDLE)], 10_099, False),
    # The outcome comes in a second message, in time and too late.
    ([(0, AT_63), (100, IDLE), (9_000, DONE)], 60_000, False),
    ([(0, AT_63), (100, IDLE), (20_000, DONE)], 60_000, False),
    # It only halts, or goes on.
    ([(0, AT_63), (100, facts("stopped", None))], 60_000, False),
    ([(0, AT_63), (100, IDLE), (5_000, AT_63)], 60_000, False),
    # Power cut: at once while the link is known to be down, and after it came back at rest.
    ([(0, AT_63), (100, CUT)], 100, True),
    ([(0, AT_63), (100, CUT), (5_000, IDLE)], 15_000, True),
    # All the time: while an outcome is waited for, and while nothing is known of the link.
    ([(0, AT_63), (100, CUT), (5_000, IDLE)], 5_000, True),
    ([(0, AT_63), (100, CUT), (5_000, LOST)], 5_000, True),
    ([(0, AT_63), (100, CUT), (5_000, AT_63)], 60_000, False),
    ([(0, AT_63), (100, CUT), (5_000, DONE)], 60_000, False),
    # The source is lost: nothing is known of the job.
    ([(0, AT_63), (100, LOST)], 60_000, False),
    ([(0, AT_63), (100, LOST), (5_000, IDLE)], 15_000, True),
    ([(0, AT_63), (100, IDLE), (5_000, LOST)], 60_000, False),
    # A link lost with no job is simply off.
    ([(0, IDLE), (100, CUT)], 60_000, False),
    ([(0, AT_63), (50, DONE), (100, CUT)], 60_000, False),
    # The next job ends it.
    ([(0, AT_63), (100, IDLE), (20_000, facts("processing", "processing", 0.0))], 20_000, False),
]


@pytest.mark.parametrize(("told", "upto", "vanished"), VANISHING)
def test_vanished(told: list[tuple[int, Facts]], upto: int, vanished: bool) -> None:
    """A job that ends without an outcome says so; one that may go on does not."""
    memory = after(*told, upto=upto)
    assert (VANISHED in memory.own_reasons) is vanished
    reasons = memory.facts["reasons"]
    known = reasons.known if isinstance(reasons, Reasons) else ()
    assert (VANISHED in known) is vanished


def test_vanished_at_once_where_no_outcome_is_waited_for() -> None:
    """Or stalled, where no movement is: what is due with the message happens with it."""
    memory = Memory("kestrel", stalled_after_ms=0, outcome_within_ms=0)
    memory.judge(AT_63, at(0))
    assert memory.own_reasons == (STALLED,)
    assert memory.judge(IDLE, at(10)).ended
    assert memory.own_reasons == (VANISHED,)


def test_a_restart_does_not_bring_a_job_back_that_is_gone() -> None:
    """Before the link is heard again it is what it was, until the job is seen to go on."""
    memory = after((0, AT_63))
    assert memory.judge(CUT, at(100)).keep
    again = Memory("kestrel")
    again.restore(memory.record(at(200)), at(1_000))
    again.judge(LOST, at(1_001))
    assert VANISHED in again.own_reasons
    assert again.judge(AT_63, at(1_002)).keep
    assert VANISHED not in again.own_reasons


def test_dies_at_63_percent_in_the_night() -> None:
    """In the morning it says how far it was, over a restart of the bridge too."""
    memory = after((0, AT_63), (100, LOST))
    morning = Moment(50, WALL_MS + 8 * 60 * MINUTE_MS)
    again = Memory("kestrel")
    again.restore(memory.record(at(200)), morning)
    again.judge(IDLE, morning)
    over = again.settle(morning.at(60_000))
    assert (over.ended, over.keep) == (True, True)
    assert again.vanished is not None
    assert again.vanished.progress == 0.63
    assert again.vanished.progress_at is not None
    assert again.vanished.progress_at.wall_ms == WALL_MS
    assert again.facts["last-job"] == "no-value"
    third = Memory("kestrel")
    third.restore(again.record(morning.at(60_001)), Moment(0, WALL_MS + 9 * 60 * MINUTE_MS))
    assert third.own_reasons == (VANISHED,)


def test_ended_while_the_bridge_was_down() -> None:
    """With its outcome still standing it is no more than over."""
    memory = after((0, AT_63))
    again = Memory("kestrel")
    again.restore(memory.record(at(100)), at(1_000))
    assert again.judge(DONE, at(1_001)).ended
    assert (again.facts["last-job"], again.own_reasons) == ("completed", ())


def test_an_outcome_left_over_from_the_job_before() -> None:
    """Still standing when the next job's end goes unseen, it is not that job's."""
    memory = after(
        (0, facts("processing", None, 0.1)),
        (10, facts("idle", "completed")),
        (20, facts("processing", "completed", 0.5)),
        (30, CUT),
        (40, facts("idle", "completed")),
        upto=20_000,
    )
    assert memory.own_reasons == (VANISHED,)
    assert memory.facts["last-job"] == "no-value"
    memory.judge(facts("idle", "completed", 0.0), at(20_001))
    assert memory.own_reasons == (VANISHED,)


def test_over_while_it_still_says_processing() -> None:
    """A printer that works on for a while after its outcome has begun no other job."""
    memory = after((0, AT_63))
    assert memory.judge(facts("processing", "completed", 1.0), at(10)).ended
    assert not memory.judge(facts("processing", "completed", 1.0), at(20)).begun
    memory.judge(DONE, at(30))
    assert memory.judge(facts("processing", "completed", 0.0), at(40)).begun


def test_not_heard_while_it_still_says_processing() -> None:
    """Lost and heard again with the same outcome, it has begun no other job either."""
    memory = after((0, AT_63), (10, facts("processing", "completed", 1.0)), (20, LOST))
    assert not memory.judge(facts("processing", "completed", 1.0), at(30)).begun
    memory.judge(IDLE, at(40))
    memory.settle(at(60_000))
    assert memory.own_reasons == ()


@pytest.mark.parametrize("outcome", ["completed", "aborted"])
def test_a_whole_job_that_nobody_saw(outcome: str) -> None:
    """Another outcome than the last is that of a job while the bridge was down."""
    memory = after((0, AT_63), (10, DONE))
    over = memory.judge(facts("idle", outcome), at(20))
    assert over.ended is (outcome == "aborted")
    assert memory.facts["last-job"] == outcome


def test_another_job_without_a_break() -> None:
    """The end between two polls is an end, and a beginning."""
    memory = after((0, AT_63))
    both = memory.judge(facts("processing", "processing", 0.01), at(20_000))
    assert (both.begun, both.ended) == (True, True)
    assert memory.facts["last-job"] == "no-value"
    assert memory.own_reasons == ()


def without_job(**rest: FactValue) -> Facts:
    """Of a reader that never says how a job ends."""
    return {name: value for name, value in facts(**rest).items() if name != "job"}  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("told", "vanished"),
    [
        ([(0, without_job(state="processing")), (10, without_job())], False),
        ([(0, without_job(state="processing")), (5, CUT), (10, without_job())], True),
    ],
)
def test_a_reader_without_outcomes(told: list[tuple[int, Facts]], vanished: bool) -> None:
    """An end that was seen is an end; only one that was not seen is a job that vanished."""
    memory = after(*told, upto=60_000)
    assert (VANISHED in memory.own_reasons) is vanished
    assert memory.job is None
    assert memory.facts["last-job"] == Unknown(Why.NOT_OFFERED)


STALLING = [
    ([(0, AT_63)], 30 * MINUTE_MS - 1, False),
    ([(0, AT_63)], 30 * MINUTE_MS, True),
    ([(0, AT_63), (MINUTE_MS, facts("processing", "processing", 0.64))], 30 * MINUTE_MS, False),
    # Moves on, halts, ends.
    ([(0, AT_63), (31 * MINUTE_MS, facts("processing", "processing", 0.64))], 0, False),
    ([(0, AT_63), (31 * MINUTE_MS, facts("stopped", "processing-stopped", 0.63))], 0, False),
    ([(0, AT_63), (31 * MINUTE_MS, DONE)], 0, False),
    # Goes on from a halt: counted from there.
    (
        [
            (0, AT_63),
            (20 * MINUTE_MS, facts("stopped", "processing-stopped", 0.63)),
            (25 * MINUTE_MS, AT_63),
        ],
        54 * MINUTE_MS,
        False,
    ),
    # What is not known stays as it is, and neither begins nor ends a stall.
    ([(0, AT_63), (31 * MINUTE_MS, LOST)], 40 * MINUTE_MS, True),
    ([(0, AT_63), (29 * MINUTE_MS, LOST)], 40 * MINUTE_MS, False),
    ([(0, AT_63), (29 * MINUTE_MS, LOST), (33 * MINUTE_MS, AT_63)], 0, True),
    ([(0, facts("processing", "processing"))], 90 * MINUTE_MS, False),
]


@pytest.mark.parametrize(("told", "upto", "stalled"), STALLING)
def test_stalled(told: list[tuple[int, Facts]], upto: int, stalled: bool) -> None:
    """No movement for half an hour while processing, as far as that is known."""
    assert (STALLED in after(*told, upto=upto).own_reasons) is stalled


def test_severities() -> None:
    """A job that is gone is an error, one that stands still a warning."""
    assert VANISHED.severity is Severity.ERROR
    assert STALLED.severity is Severity.WARNING


EMPTY = parse_reason("material-empty-error")
HEARD: list[tuple[FactValue, FactValue, FactValue]] = [
    (NO_REASONS, NO_REASONS, Reasons((VANISHED,))),
    (Reasons((EMPTY,)), Reasons((EMPTY,)), Reasons((VANISHED, EMPTY))),
    (Reasons((), NOT_HEARD), Reasons((), NOT_HEARD), Reasons((VANISHED,), NOT_HEARD)),
    (NOT_HEARD, NOT_HEARD, Reasons((VANISHED,), NOT_HEARD)),
]


@pytest.mark.parametrize(("heard", "without", "with_ours"), HEARD)
def test_reasons(heard: FactValue, without: FactValue, with_ours: FactValue) -> None:
    """Ours beside the printer's own; where those are not known, ours are."""
    calm = after((0, facts(reasons=heard)))
    assert calm.facts["reasons"] == without
    gone = after((0, AT_63), (10, facts(reasons=heard)), upto=20_000)
    assert gone.facts["reasons"] == with_ours


def test_time_in_state() -> None:
    """Since it last became another; not knowing in between is no change."""
    memory = after((0, AT_63), (500, DONE), (600, LOST))
    assert fact(memory, "time-in-state") == NOT_HEARD
    memory.judge(DONE, at(700))
    assert fact(memory, "time-in-state") == 500


def test_time_unchanged() -> None:
    """Since progress last moved; only while it is processing, and as far as it is known."""
    memory = after(
        (0, AT_63), (500, {**AT_63, "progress": 0.64}), (600, {**AT_63, "progress": 0.64})
    )
    assert fact(memory, "time-unchanged") == 500
    memory.judge(facts("processing", "processing"), at(700))
    assert fact(memory, "time-unchanged") == NOT_HEARD
    memory.judge(facts("stopped", "processing-stopped", 0.64), at(800))
    assert fact(memory, "time-unchanged") == 0.0
    memory.judge({**AT_63, "progress": 0.64}, at(900))
    assert fact(memory, "time-unchanged") == 900


def test_since_when_over_a_restart() -> None:
    """Once the wall clock is known; until then since when is not known."""
    record = after((0, AT_63)).record(at(100))
    again = Memory("kestrel")
    again.restore(record, Moment(0))
    again.judge(AT_63, Moment(10))
    assert fact(again, "time-in-state") == Unknown(Why.NO_CLOCK)
    assert again.deadline() is None
    later = Moment(20, WALL_MS + 40 * MINUTE_MS)
    changed = again.clock(later)
    assert {"time-in-state", "time-unchanged", "reasons"} <= changed.changed
    assert fact(again, "time-in-state") == 20 - 40 * MINUTE_MS
    assert again.own_reasons == (STALLED,)


def test_changed_names_only_what_changed() -> None:
    """The rules look again at nothing else."""
    memory = Memory("kestrel")
    assert memory.judge(IDLE, at(0)).changed == {
        "last-job",
        "time-in-state",
        "time-unchanged",
        "reasons",
    }
    assert memory.judge(IDLE, at(10)) == Remembered()
    assert memory.judge({**IDLE, "reasons": Reasons((EMPTY,))}, at(20)).changed == {"reasons"}


def test_what_is_worth_writing_down() -> None:
    """Each percent, each end and each beginning; not every message."""
    memory = after((0, facts("processing", "processing", 0.631)))
    kept = [
        memory.judge(facts("processing", "processing", progress), at(ms)).keep
        for ms, progress in enumerate((0.632, 0.639, 0.641, 0.641, 0.66), 1)
    ]
    assert kept == [False, False, True, False, True]


def test_it_keeps_no_hold_of_what_it_was_told() -> None:
    """A printer's facts change under it before it is asked again; what was due was by the old."""
    live = dict(AT_63)
    memory = Memory("kestrel")
    memory.judge(live, at(0))
    live["progress"] = 0.7
    assert memory.settle(at(30 * MINUTE_MS)).changed == {"reasons", OWN_REASONS}
    assert memory.own_reasons == (STALLED,)


STATES = st.sampled_from(["idle", "processing", "processing", "stopped", None])
WORDS = st.sampled_from(
    ["processing", "processing-stopped", "completed", "aborted", "no-value", None]
)
SAID = st.one_of(
    st.builds(
        facts,
        STATES,
        WORDS,
        st.one_of(st.none(), st.sampled_from([0.0, 0.2, 0.21, 0.9])),
        job_name=st.sampled_from(["hull", "keel", NOT_HEARD]),
    ),
    st.sampled_from([CUT, LOST]),
)
TOLD = st.lists(st.tuples(st.integers(0, 30), SAID), max_size=25)


def _memory() -> Memory:
    return Memory("kestrel", stalled_after_ms=40, outcome_within_ms=10)


@given(TOLD, st.integers(1, 7))
def test_late_or_in_time_is_the_same(told: list[tuple[int, Facts]], every: int) -> None:
    """However often timers fire, the same is remembered at the same instants."""
    late, prompt = _memory(), _memory()
    ms = 0
    for gap, said in told:
        over = Remembered()
        for timer in range(ms, ms + gap, every):
            over = over.then(prompt.settle(at(timer)))
        ms += gap
        over = over.then(prompt.judge(said, at(ms)))
        assert late.judge(said, at(ms)) == over
        assert prompt.facts == late.facts
        assert prompt.record(at(ms)) == late.record(at(ms))
        assert prompt.deadline() == late.deadline()


@given(TOLD, st.integers(0, 50), TOLD)
def test_a_restart_is_a_while_of_knowing_nothing(
    before: list[tuple[int, Facts]], down_ms: int, since: list[tuple[int, Facts]]
) -> None:
    """Restored from its record, it remembers what it would have, heard of nothing meanwhile."""
    through, again = _memory(), _memory()
    ms = 0
    for gap, said in before:
        ms += gap
        through.judge(said, at(ms))
    record = through.record(at(ms))
    through.judge(LOST, at(ms))
    ms += down_ms
    through.settle(at(ms))
    again.restore(record, at(ms))
    for gap, said in since:
        ms += gap
        through.judge(said, at(ms))
        again.judge(said, at(ms))
        assert again.own_reasons == through.own_reasons
        assert again.record(at(ms)) == through.record(at(ms))
        assert again.facts == through.facts


@given(TOLD)
def test_a_job_is_never_lost_without_a_word(told: list[tuple[int, Facts]]) -> None:
    """Whatever is heard: a job that ran goes on, has an outcome, has vanished or is followed."""
    memory = _memory()
    ms = 0
    for gap, said in told:
        ran = memory.job is not None
        ms += gap
        over = memory.judge(said, at(ms))
        if ran and memory.job is None:
            assert over.ended
            assert memory.vanished is not None or memory.facts["last-job"] in {
                "completed",
                "aborted",
            }
        assert not (memory.job is not None and memory.vanished is not None)
        assert (memory.deadline() or ms + 1) > ms


def test_records_are_plain() -> None:
    """A record is what it was made of, again and again."""
    record = after((0, AT_63), (100, LOST)).record(at(200))
    assert isinstance(record, MemoryRecord)
    again = Memory("kestrel")
    again.restore(record, at(300))
    assert again.record(at(400)) == record
    assert replace(record) == record


def test_placed_when_the_wall_clock_is_known() -> None:
    """How long ago things were is settled then, whatever that clock does afterwards."""
    record = after((0, AT_63), (10, IDLE), upto=20_000).record(at(20_000))
    again = Memory("kestrel")
    again.restore(replace(record, job=record.vanished), Moment(0))
    assert fact(again, "time-in-state") == Unknown(Why.NOT_OFFERED)
    again.clock(Moment(50, WALL_MS + 30_050))
    again.judge(facts("idle", None), Moment(60))
    assert fact(again, "time-in-state") == 10 - 30_000
    assert again.vanished is not None
    assert again.vanished.began.ms == -30_000
    assert again.job is not None
    assert again.job.began.ms == -30_000


def test_stalled_and_finishing_come_back() -> None:
    """A stall that cannot be judged yet is one; a job that is over begins no other."""
    stalled = after((0, AT_63), upto=31 * MINUTE_MS).record(at(31 * MINUTE_MS))
    finishing = after((0, AT_63), (10, facts("processing", "completed", 1.0))).record(at(20))
    one, other = Memory("kestrel"), Memory("kestrel")
    one.restore(stalled, at(32 * MINUTE_MS))
    one.judge(LOST, at(32 * MINUTE_MS))
    assert one.own_reasons == (STALLED,)
    other.restore(finishing, at(30))
    assert not other.judge(facts("processing", "completed", 1.0), at(40)).begun
