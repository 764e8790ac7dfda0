"""A job as the bridge remembers it, and how a printer's facts tell that one runs or is over."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp, placed, wall_of
from bridge.facts.values import Facts, FactValue, Unknown, Why

#: RFC 8011 §5.3.7: the states in which a job is over.
FINAL: Final = frozenset({"completed", "canceled", "aborted"})
#: The states in which a job has begun and is not over.
RUNNING: Final = frozenset({"processing", "processing-stopped"})
#: There was no job, or how it ended was never said.
NO_VALUE: Final = "no-value"
#: Falling so far, progress is that of another job.
_ANOTHER_JOBS_DROP: Final = 0.5


class Phase(Enum):
    """What a printer's facts say of its job at one instant."""

    #: Whatever began before goes on; also begins one where there was none.
    RUNS = "runs"
    #: Stopped: goes on if there was one, begins none.
    HALTED = "halted"
    OVER = "over"
    #: At rest, with nothing said of how a job ended.
    RESTS = "rests"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Job:
    """One job. ``progress`` (0..1) is the last that was known, and ``progress_at`` when.

    ``first_word`` is what ``job`` said when it began: an outcome still standing from the job
    before is not its own. ``unseen`` once nothing was known of the printer since the last time it
    was seen to run. ``gone`` once its link was down since then: the job counts as vanished.
    """

    began: Stamp
    name: str | None = None
    progress: float | None = None
    progress_at: Stamp | None = None
    first_word: str | None = None
    unseen: bool = False
    ended: Stamp | None = None
    gone: bool = False

    def seen(self, facts: Facts, now: Moment) -> Job:
        """With what the facts tell of it now."""
        name, progress = known_text(facts, "job-name"), known_number(facts, "progress")
        word = known_text(facts, "job")
        return Job(
            began=self.began,
            name=self.name if name is None else name,
            progress=self.progress if progress is None else progress,
            progress_at=self.progress_at if progress is None else Stamp.of(now),
            # An outcome that has been gone in between is its own when it comes back.
            first_word=None if word is None or word in RUNNING else self.first_word,
            ended=self.ended,
        )

    def placed(self, now: Moment) -> Job:
        """Its instants on the monotonic clock, as far as can be known by now."""
        return replace(
            self,
            began=self.began.placed(now),
            progress_at=placed(self.progress_at, now),
            ended=placed(self.ended, now),
        )

    def record(self, now: Moment) -> JobRecord:
        """As it crosses a start."""
        return JobRecord(
            began_wall_ms=self.began.wall_at(now),
            name=self.name,
            progress=self.progress,
            progress_wall_ms=wall_of(self.progress_at, now),
            first_word=self.first_word,
            ended_wall_ms=wall_of(self.ended, now),
            gone=self.gone,
        )


@dataclass(frozen=True, slots=True)
class JobRecord:
    """A job in wall time, ``None`` where the wall clock was not known."""

    began_wall_ms: int | None
    name: str | None
    progress: float | None
    progress_wall_ms: int | None
    first_word: str | None
    ended_wall_ms: int | None
    gone: bool = False

    def restored(self, now: Moment) -> Job:
        """The job of an earlier start, which nobody has seen since."""
        return Job(
            began=Stamp(None, self.began_wall_ms).placed(now),
            name=self.name,
            progress=self.progress,
            progress_at=Stamp.restored(self.progress_wall_ms, now),
            first_word=self.first_word,
            unseen=True,
            ended=Stamp.restored(self.ended_wall_ms, now),
            gone=self.gone,
        )


def begun(facts: Facts, now: Moment) -> Job:
    """A job that begins now."""
    job = Job(began=Stamp.of(now)).seen(facts, now)
    word = known_text(facts, "job")
    return replace(job, first_word=word) if word in FINAL else job


def phase_of(facts: Facts, job: Job | None) -> Phase:
    """What the facts say, ``job`` being the one that is remembered to run."""
    word, state = known_text(facts, "job"), known_text(facts, "state")
    if word in RUNNING:
        return Phase.RUNS
    if word in FINAL and job is not None and job.first_word != word:
        return Phase.OVER
    if state == "processing":
        return Phase.RUNS
    if word in FINAL and (job is None or (state == "idle" and not job.unseen)):
        return Phase.OVER
    # What is left of an outcome is that of the job before: it says nothing of one that went unseen.
    return {"stopped": Phase.HALTED, "idle": Phase.RESTS}.get(state or "", Phase.UNKNOWN)


def is_another(job: Job, facts: Facts) -> bool:
    """Whether what runs now is another job than this one: another name, or progress far back."""
    name, progress = known_text(facts, "job-name"), known_number(facts, "progress")
    if name is not None and job.name is not None and name != job.name:
        return True
    if progress is None or job.progress is None:
        return False
    return job.progress - progress >= _ANOTHER_JOBS_DROP


def offers_outcome(facts: Facts) -> bool:
    """Whether the printer's reader can say how a job ended."""
    value: FactValue | None = facts.get("job")
    return not (value is None or (isinstance(value, Unknown) and value.why is Why.NOT_OFFERED))


def known_text(facts: Facts, fact: str) -> str | None:
    """The fact's word, or ``None``."""
    value = facts.get(fact)
    return value if isinstance(value, str) else None


def known_number(facts: Facts, fact: str) -> float | None:
    """The fact's number, or ``None``."""
    value = facts.get(fact)
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return float(value) if is_number and isinstance(value, (int, float)) else None
