"""Whether a job runs or is over, from what a printer says."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from bridge.facts.jobs import (
    FINAL,
    RUNNING,
    Job,
    Phase,
    begun,
    is_another,
    known_number,
    known_text,
    offers_outcome,
    phase_of,
)
from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp
from bridge.facts.values import Facts, FactValue, Unknown, Why
from bridge.facts.vocabulary import JOB_STATES, STATES

WALL_MS = 1_736_186_400_000
NOT_HEARD = Unknown(Why.NOT_HEARD)
JOB = Job(began=Stamp(0, WALL_MS))
OLD = replace(JOB, first_word="completed")
UNSEEN = replace(OLD, unseen=True)


def of(state: str | None, job: str | None = None, **more: FactValue) -> Facts:
    """Facts with these; ``None`` is not known."""
    named = {name.replace("_", "-"): value for name, value in more.items()}
    return {"state": state or NOT_HEARD, "job": job or NOT_HEARD, **named}


def test_words_of_the_vocabulary() -> None:
    """Final and running are RFC 8011's states of a job that is over, and of one that has begun."""
    assert set(JOB_STATES) - FINAL - RUNNING == {"pending", "pending-held", "no-value"}


R, H, E, S, U = Phase.RUNS, Phase.HALTED, Phase.OVER, Phase.RESTS, Phase.UNKNOWN
#: Rows: what ``job`` says; columns: state idle, processing, stopped, unknown.
NO_JOB: dict[str | None, tuple[Phase, ...]] = {
    None: (S, R, H, U),
    "pending": (S, R, H, U),
    "pending-held": (S, R, H, U),
    "no-value": (S, R, H, U),
    "processing": (R, R, R, R),
    "processing-stopped": (R, R, R, R),
    # An outcome beside a printer that works is that of the job before.
    "completed": (E, R, E, E),
    "canceled": (E, R, E, E),
    "aborted": (E, R, E, E),
}
#: A job that began with no outcome standing: any outcome is its own.
FRESH_JOB = NO_JOB | dict.fromkeys(FINAL, (E, E, E, E))
#: One that began with "completed" standing: only at rest, and seen to get there, it is its own.
OLD_JOB = FRESH_JOB | {"completed": (E, R, H, U)}
UNSEEN_JOB = FRESH_JOB | {"completed": (S, R, H, U)}


@pytest.mark.parametrize(
    ("job", "grid"),
    [(None, NO_JOB), (JOB, FRESH_JOB), (OLD, OLD_JOB), (UNSEEN, UNSEEN_JOB)],
    ids=["none", "fresh", "old", "unseen"],
)
@pytest.mark.parametrize(("word", "state"), list(product((*JOB_STATES, None), (*STATES, None))))
def test_phase(
    job: Job | None, grid: dict[str | None, tuple[Phase, ...]], word: str | None, state: str | None
) -> None:
    """Every word, in every state, with every kind of job that is remembered."""
    column = (*STATES, None).index(state)
    assert phase_of(of(state, word), job) is grid[word][column]


@pytest.mark.parametrize(
    ("name", "progress", "another"),
    [
        (None, None, False),
        ("hull", 0.65, False),
        ("keel", 0.65, True),
        (None, 0.13, True),
        (None, 0.2, False),
        ("hull", 0.0, True),
    ],
)
def test_another(name: str | None, progress: float | None, another: bool) -> None:
    """Another name, or progress that fell by half: the end between was not heard."""
    job = replace(JOB, name="hull", progress=0.63)
    facts = of("processing", job_name=name or NOT_HEARD, progress=progress or NOT_HEARD)
    if progress == 0.0:
        facts = of("processing", job_name=name or NOT_HEARD, progress=0.0)
    assert is_another(job, facts) is another
    assert not is_another(JOB, facts)


def test_begun() -> None:
    """With what is known of it at once; an outcome that stands then is not its own."""
    now = Moment(7, WALL_MS)
    job = begun(of("processing", "completed", job_name="hull", progress=0.1), now)
    assert job == Job(Stamp(7, WALL_MS), "hull", 0.1, Stamp(7, WALL_MS), "completed")
    assert begun(of("processing", "processing"), now).first_word is None


@pytest.mark.parametrize(
    ("word", "first"),
    [("completed", "completed"), (None, None), ("processing", None), ("no-value", "completed")],
)
def test_an_old_outcome_that_went_away(word: str | None, first: str | None) -> None:
    """Gone in between, it is the job's own when it comes back."""
    assert OLD.seen(of("processing", word), Moment(9)).first_word == first


def test_seen() -> None:
    """Keeps the last of what is known, and that it was seen."""
    job = replace(UNSEEN, name="hull", progress=0.5)
    seen = job.seen(of("processing", progress=0.6), Moment(9, WALL_MS))
    assert (seen.name, seen.progress, seen.unseen) == ("hull", 0.6, False)
    assert seen.progress_at == Stamp(9, WALL_MS)
    assert job.seen(of("processing"), Moment(9)).progress == 0.5


def test_record() -> None:
    """It comes back as it was, unseen, with its instants on the new clock."""
    job = Job(Stamp(0, WALL_MS), "hull", 0.63, Stamp(50, WALL_MS + 50), "aborted", ended=Stamp(60))
    record = job.record(Moment(100, WALL_MS + 100))
    assert record.ended_wall_ms == WALL_MS + 60
    back = record.restored(Moment(5, WALL_MS + 1_005))
    assert back.began == Stamp(-1_000, WALL_MS)
    assert (back.name, back.progress, back.first_word, back.unseen) == (
        "hull",
        0.63,
        "aborted",
        True,
    )
    assert back.record(Moment(5, WALL_MS + 1_005)) == record
    late = record.restored(Moment(5))
    assert late.began.ms is None
    assert late.placed(Moment(5, WALL_MS + 1_005)) == back


@pytest.mark.parametrize(
    ("facts", "offers"),
    [
        ({}, False),
        ({"job": Unknown(Why.NOT_OFFERED)}, False),
        ({"job": Unknown(Why.LINK_NOT_UP)}, True),
        ({"job": "processing"}, True),
    ],
)
def test_offers_outcome(facts: Facts, offers: bool) -> None:
    """Not known now is still offered."""
    assert offers_outcome(facts) is offers


@pytest.mark.parametrize(
    ("value", "text", "number"),
    [("idle", "idle", None), (0.5, None, 0.5), (3, None, 3.0), (True, None, None)],
)
def test_known(value: FactValue, text: str | None, number: float | None) -> None:
    """A text or a number, and nothing else."""
    assert (known_text({"x": value}, "x"), known_number({"x": value}, "x")) == (text, number)
    assert known_text({}, "x") is None
    assert known_number({"x": NOT_HEARD}, "x") is None
