"""What the bridge remembers of a printer's past: its jobs, and since when things are as they are.

Rules, for what a printer does not say itself:

1. A job that was seen to run, after which the printer rests and no outcome is heard within
   ``outcome_within_ms``, has vanished. Where the reader never offers outcomes, only one whose end
   was not seen.
2. Once the link is known to be down a job that ran counts as vanished, until it is seen to go on
   or its outcome is heard: a link of which nothing is known, or one that is up again, is neither.
   A link that went without a job says nothing.
3. A job is stalled while it is processing and its progress has not moved for ``stalled_after_ms``.
4. What cannot be judged stays as it is: no fault of the bridge's own ends because nothing is heard.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from bridge.facts.jobs import (
    FINAL,
    NO_VALUE,
    Job,
    JobRecord,
    Phase,
    begun,
    is_another,
    known_number,
    known_text,
    offers_outcome,
    phase_of,
)
from bridge.facts.moment import Moment
from bridge.facts.reasons import parse_reason
from bridge.facts.stamp import Stamp, placed, wall_of
from bridge.facts.values import Facts, FactValue, Reason, Reasons, Unknown, Why

LAST_JOB: Final = "last-job"
TIME_IN_STATE: Final = "time-in-state"
TIME_UNCHANGED: Final = "time-unchanged"
REASONS: Final = "reasons"
#: The reasons that the bridge finds itself, beside being among the printer's: always all known.
OWN_REASONS: Final = "own reasons"
#: What ``Memory.facts`` holds; over the printer's own facts, ``reasons`` included.
REMEMBERED: Final = frozenset({LAST_JOB, TIME_IN_STATE, TIME_UNCHANGED, REASONS, OWN_REASONS})
#: The facts of a printer that its memory must be told of.
REMEMBERS: Final = frozenset({"link", "state", "job", "job-name", "progress", REASONS})

VANISHED: Final = parse_reason("bridge-job-vanished")
STALLED: Final = parse_reason("bridge-stalled")

STALLED_AFTER_MS: Final = 30 * 60 * 1000
#: The state and the outcome may come in two messages.
OUTCOME_WITHIN_MS: Final = 10_000
#: Progress is written down in such steps, to spare a memory card.
_KEPT_STEP: Final = 0.01


@dataclass(frozen=True, slots=True)
class MemoryRecord:
    """A printer's memory in wall time."""

    printer: str
    state: str | None
    state_since_wall_ms: int | None
    job: JobRecord | None
    last_job: str
    vanished: JobRecord | None
    stalled: bool
    moved_wall_ms: int | None
    moved_progress: float | None
    finishing: bool


@dataclass(frozen=True, slots=True)
class Remembered:
    """What a judgement changed: facts by name, whether a job began or ended.

    ``keep`` where the record is worth writing down anew.
    """

    changed: frozenset[str] = frozenset()
    begun: bool = False
    ended: bool = False
    keep: bool = False

    def then(self, later: Remembered) -> Remembered:
        """Both, one after the other."""
        if self is _NOTHING:
            return later
        if later is _NOTHING:
            return self
        return Remembered(
            self.changed | later.changed,
            self.begun or later.begun,
            self.ended or later.ended,
            self.keep or later.keep,
        )


_NOTHING: Final = Remembered()


class Memory:
    """The memory of one printer. Mutable; owned by the engine; no clock of its own."""

    def __init__(
        self,
        printer: str,
        stalled_after_ms: int = STALLED_AFTER_MS,
        outcome_within_ms: int = OUTCOME_WITHIN_MS,
    ) -> None:
        self.printer = printer
        #: The job that runs, as far as is known.
        self.job: Job | None = None
        #: The job that vanished, until the next one begins.
        self.vanished: Job | None = None
        #: The facts of ``REMEMBERED``: what the rules see instead of, or besides, the printer's.
        self.facts: dict[str, FactValue] = {}
        self._stalled_after_ms = stalled_after_ms
        self._outcome_within_ms = outcome_within_ms
        self._last_job = NO_VALUE
        self._state: str | None = None
        self._state_since: Stamp | None = None
        #: When progress last moved while processing, and to what.
        self._moved: Stamp | None = None
        self._moved_to: float | None = None
        self._stalled = False
        #: The last job is over and the printer still says that it is processing.
        self._finishing = False
        #: Since when a job has neither run nor an outcome.
        self._rests_ms: int | None = None
        self._raw: Facts = {}
        self._kept: tuple[object, ...] = ()
        self._tell(Moment(0))

    @property
    def own_reasons(self) -> tuple[Reason, ...]:
        """The bridge's own reasons that hold now."""
        is_gone = self.job is not None and self.job.gone
        vanished = (VANISHED,) if self.vanished is not None or is_gone else ()
        return (*vanished, *((STALLED,) if self._stalled else ()))

    def judge(self, facts: Facts, now: Moment) -> Remembered:
        """Take the printer's own facts, whenever one of ``REMEMBERS`` may have changed."""
        remembered = self.settle(now)
        # A copy: the printer's own change before the next judgement, and what is due until then
        # is judged by these.
        self._raw = {name: facts[name] for name in REMEMBERS if name in facts}
        self._look_at_state(now)
        begun_, ended = self._look_at_job(now)
        self._look_at_progress(now)
        remembered = remembered.then(self._done(now, begun=begun_, ended=ended))
        return remembered.then(self.settle(now))

    def deadline(self) -> int | None:
        """The next instant at which something changes with nothing heard."""
        return min((due_ms for due_ms, _ in self._dues()), default=None)

    def settle(self, now: Moment) -> Remembered:
        """Everything that is due at ``now``, each at its own due time."""
        remembered = _NOTHING
        while (first := min(self._dues(), default=None)) and first[0] <= now.ms:
            at = now.at(first[0])
            if first[1] == "stalled":
                self._stalled = True
            else:
                self._vanish(at)
            remembered = remembered.then(self._done(at, ended=first[1] == "vanished"))
        return remembered

    def clock(self, now: Moment) -> Remembered:
        """The wall clock became known or was stepped."""
        self._state_since = placed(self._state_since, now)
        self._moved = placed(self._moved, now)
        self.job = None if self.job is None else self.job.placed(now)
        self.vanished = None if self.vanished is None else self.vanished.placed(now)
        return self._done(now).then(self.settle(now))

    def record(self, now: Moment) -> MemoryRecord:
        """All that crosses a start."""
        return MemoryRecord(
            printer=self.printer,
            state=self._state,
            state_since_wall_ms=wall_of(self._state_since, now),
            job=None if self.job is None else self.job.record(now),
            last_job=self._last_job,
            vanished=None if self.vanished is None else self.vanished.record(now),
            stalled=self._stalled,
            moved_wall_ms=wall_of(self._moved, now),
            moved_progress=self._moved_to,
            finishing=self._finishing,
        )

    def restore(self, record: MemoryRecord, now: Moment) -> Remembered:
        """As an earlier start left it; nothing is known of the printer yet."""
        self._state = record.state
        self._state_since = Stamp(None, record.state_since_wall_ms).placed(now)
        self.job = None if record.job is None else record.job.restored(now)
        self._last_job = record.last_job
        self.vanished = None if record.vanished is None else record.vanished.restored(now)
        self._stalled, self._finishing = record.stalled, record.finishing
        self._moved_to = record.moved_progress
        if record.moved_progress is not None:
            self._moved = Stamp(None, record.moved_wall_ms).placed(now)
        return replace(self._done(now), keep=False)

    # Within

    def _dues(self) -> list[tuple[int, str]]:
        dues: list[tuple[int, str]] = []
        if self._rests_ms is not None:
            dues.append((self._rests_ms + self._outcome_within_ms, "vanished"))
        moved, can_stall = self._moved, self._is_processing and self._progress is not None
        if can_stall and not self._stalled and moved is not None and moved.ms is not None:
            dues.append((moved.ms + self._stalled_after_ms, "stalled"))
        return dues

    @property
    def _is_processing(self) -> bool:
        return known_text(self._raw, "state") == "processing"

    @property
    def _progress(self) -> float | None:
        return known_number(self._raw, "progress")

    def _look_at_state(self, now: Moment) -> None:
        state, word = known_text(self._raw, "state"), known_text(self._raw, "job")
        if state is not None and state != self._state:
            self._state, self._state_since = state, Stamp.of(now)
        # Hearing nothing for a while ends it no more than a restart does.
        if state not in {None, "processing"} or (word is not None and word not in FINAL):
            self._finishing = False

    def _look_at_job(self, now: Moment) -> tuple[bool, bool]:
        """Whether a job began, and whether one ended."""
        phase = phase_of(self._raw, self.job)
        if phase is not Phase.RESTS:
            self._rests_ms = None
        if self.job is None:
            return self._without_job(phase, now)
        match phase:
            case Phase.RUNS if is_another(self.job, self._raw):
                self._end(NO_VALUE)
                self._begin(now)
                return True, True
            case Phase.RUNS | Phase.HALTED:
                self.job = self.job.seen(self._raw, now)
            case Phase.OVER:
                self._end(known_text(self._raw, "job") or NO_VALUE)
                return False, True
            case Phase.RESTS:
                return False, self._rest(self.job, now)
            case Phase.UNKNOWN:
                is_down = self._raw.get("link") == "down"
                self.job = replace(self.job, unseen=True, gone=self.job.gone or is_down)
        return False, False

    def _without_job(self, phase: Phase, now: Moment) -> tuple[bool, bool]:
        if phase is Phase.RUNS and not self._finishing:
            self._begin(now)
            return True, False
        word = known_text(self._raw, "job")
        if phase is not Phase.OVER or word is None or word == self._last_job:
            return False, False
        if self.vanished is not None and self.vanished.first_word == word:
            return False, False  # left over from the job before the one that vanished
        # An outcome that came late, or that of a job of which nothing was seen.
        self._end(word)
        return False, True

    def _begin(self, now: Moment) -> None:
        self.job, self.vanished = begun(self._raw, now), None

    def _rest(self, job: Job, now: Moment) -> bool:
        if not job.unseen and not offers_outcome(self._raw):
            self._end(NO_VALUE)
            return True
        if self._rests_ms is None:
            self._rests_ms = now.ms
        return False

    def _end(self, outcome: str) -> None:
        self.job = self.vanished = None
        self._last_job = outcome
        self._finishing = self._is_processing

    def _vanish(self, at: Moment) -> None:
        if self.job is not None:
            self.vanished = replace(self.job, ended=Stamp.of(at))
        self.job = self._rests_ms = None
        self._last_job = NO_VALUE

    def _look_at_progress(self, now: Moment) -> None:
        state, progress = known_text(self._raw, "state"), self._progress
        if state is not None and not self._is_processing:
            self._moved = self._moved_to = None
            self._stalled = False
        elif self._is_processing and progress is not None and progress != self._moved_to:
            self._moved, self._moved_to = Stamp.of(now), progress
            self._stalled = False

    def _done(self, now: Moment, *, begun: bool = False, ended: bool = False) -> Remembered:
        changed = self._tell(now)
        step = None if self._moved_to is None else int(self._moved_to / _KEPT_STEP)
        names = (self.job and self.job.name, self._last_job, self._state, step)
        is_gone = self.job is not None and self.job.gone
        kept = (*names, self.job is None, is_gone, self.vanished is None, self._stalled)
        keep = begun or ended or kept != self._kept
        self._kept = kept
        return Remembered(changed, begun, ended, keep)

    def _tell(self, now: Moment) -> frozenset[str]:
        facts = {
            LAST_JOB: self._last_job_fact(),
            TIME_IN_STATE: _since(self._state_since, self._raw.get("state"), now),
            TIME_UNCHANGED: self._unchanged_fact(now),
            REASONS: self._reasons_fact(),
            OWN_REASONS: Reasons(tuple(sorted(self.own_reasons))),
        }
        changed = frozenset(name for name, value in facts.items() if self.facts.get(name) != value)
        self.facts.update(facts)
        return changed

    def _last_job_fact(self) -> FactValue:
        if self._last_job == NO_VALUE and not offers_outcome(self._raw):
            return Unknown(Why.NOT_OFFERED)
        return self._last_job

    def _unchanged_fact(self, now: Moment) -> FactValue:
        at_rest = not self._is_processing and known_text(self._raw, "state") is not None
        if at_rest and "progress" in self._raw:
            # For no time at all, and known: what does not work does not stand still. A number of
            # seconds, not an instant.
            return 0.0
        is_known = self._is_processing and self._progress is not None
        source = self._raw.get("state" if not self._is_processing else "progress")
        return _since(self._moved if is_known else None, source, now)

    def _reasons_fact(self) -> FactValue:
        own, heard = self.own_reasons, self._raw.get(REASONS, Unknown(Why.NOT_OFFERED))
        if isinstance(heard, Reasons):
            return (
                Reasons(tuple(sorted((*heard.known, *own))), heard.open_because) if own else heard
            )
        # Ours are known to hold, whatever else may.
        return Reasons(own, heard) if own and isinstance(heard, Unknown) else heard


def _since(stamp: Stamp | None, source: FactValue | None, now: Moment) -> FactValue:
    """Since when, on the monotonic clock in ms; unknown for the reason that ``source`` is."""
    if isinstance(source, Unknown):
        return source
    if source is None or stamp is None:
        return Unknown(Why.NOT_OFFERED)
    since_ms = stamp.placed(now).ms
    return Unknown(Why.NO_CLOCK) if since_ms is None else since_ms
