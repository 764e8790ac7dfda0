"""What is remembered of a printer: its jobs, since when its state is so, and a part to fetch.

It shares no code with the bridge. Quoted are the sentences of the design that a rule stands for.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple

from tests.campaign.alarms import Instant, Now, kept
from tests.campaign.ears import Facts

OUTCOMES: Final = frozenset({"completed", "aborted"})
#: How long an outcome is waited for, and the fall of progress that means another job.
OUTCOME_WITHIN_MS: Final = 10_000
ANOTHER: Final = 0.5


@dataclass(frozen=True)
class Job:
    """A job under way; ``old_word`` is an outcome of the one before, still said."""

    progress: float | None = None
    old_word: str | None = None
    unseen: bool = False


class KeptPast(NamedTuple):
    """What a record of the memory must hold."""

    state: str | None
    since: int | None
    job: Job | None
    last: str
    gone: Job | None
    finishing: bool


@dataclass
class Past:
    """The memory of one printer."""

    state: str | None = None
    since: Instant | None = None
    job: Job | None = None
    last: str = "no-value"
    #: The job that vanished, until the next begins.
    gone: Job | None = None
    finishing: bool = False
    rests: int | None = None
    #: Since somebody last looked; and whether it must be recorded.
    begun: bool = False
    ended: bool = False
    news: bool = False

    def due(self) -> int | None:
        """When a job counts as vanished."""
        return None if self.rests is None else self.rests + OUTCOME_WITHIN_MS

    def settle(self, now: Now) -> None:
        """A job that ran, rests and has no outcome has vanished."""
        due = self.due()
        if due is not None and due <= now.ms:
            self.gone, self.job, self.rests, self.last = self.job, None, None, "no-value"
            self.ended = self.news = True

    def judge(self, facts: Facts, now: Now) -> None:
        """Take the printer's facts."""
        state, word = facts["state"], facts.get("job")
        if state is not None and state != self.state:
            self.state, self.since = state, Instant(*now)
        if state not in {None, "processing"} or word not in {None, *OUTCOMES}:
            self.finishing = False
        phase = self._phase(state, word)
        if phase != "rests":
            self.rests = None
        if self.job is None:
            self._without(phase, state, word, facts)
        else:
            self._with(self.job, phase, facts, now)

    def _phase(self, state: str | None, word: str | None) -> str:
        job = self.job
        if word == "processing":
            return "runs"
        if word in OUTCOMES and job is not None and word != job.old_word:
            return "over"
        if state == "processing":
            return "runs"
        if word in OUTCOMES and (job is None or (state == "idle" and not job.unseen)):
            return "over"
        return {"stopped": "halted", "idle": "rests"}.get(state or "", "unknown")

    def _without(self, phase: str, state: str | None, word: str | None, facts: Facts) -> None:
        if phase == "runs" and not self.finishing:
            self._begin(facts)
            return
        old = self.gone.old_word if self.gone is not None else None
        if phase == "over" and word is not None and word not in {self.last, old}:
            self._end(word, state)

    def _with(self, job: Job, phase: str, facts: Facts, now: Now) -> None:
        match phase:
            case "runs" if self._is_another(job, facts):
                self._end("no-value", facts["state"])
                self._begin(facts)
            case "runs" | "halted":
                self.job = _seen(job, facts)
            case "over":
                self._end(facts["job"], facts["state"])
            case "rests" if not job.unseen and "job" not in facts:
                self._end("no-value", facts["state"])
            case "rests":
                self.rests = now.ms if self.rests is None else self.rests
            case _:
                self.job = replace(job, unseen=True)

    def _is_another(self, job: Job, facts: Facts) -> bool:
        share = facts["progress"]
        return None not in {share, job.progress} and job.progress - share >= ANOTHER

    def _begin(self, facts: Facts) -> None:
        job, word = _seen(Job(), facts), facts.get("job")
        self.job, self.gone = replace(job, old_word=word if word in OUTCOMES else None), None
        self.begun = self.news = True

    def _end(self, outcome: str, state: str | None) -> None:
        self.job = self.gone = None
        self.last, self.finishing = outcome, state == "processing"
        self.ended = self.news = True

    def seconds(self, facts: Facts, now: Now) -> float | None:
        """How long it is in its state."""
        if facts["state"] is None or self.since is None:
            return None
        self.since.place(now)
        return None if self.since.ms is None else (now.ms - self.since.ms) / 1000

    def keep(self, now: Now) -> KeptPast:
        """All that crosses a start."""
        since = kept(self.since, now)
        return KeptPast(self.state, since, self.job, self.last, self.gone, self.finishing)

    def restore(self, record: KeptPast, now: Now) -> None:
        """As it was kept; whatever ran was not seen since."""
        self.state, self.last, self.finishing = record.state, record.last, record.finishing
        self.since = Instant(None, record.since)
        self.since.place(now)
        self.job = None if record.job is None else replace(record.job, unseen=True)
        self.gone = record.gone


def _seen(job: Job, facts: Facts) -> Job:
    share, word = facts["progress"], facts.get("job")
    return Job(
        progress=job.progress if share is None else share,
        old_word=None if word is None or word == "processing" else job.old_word,
    )


class KeptPart(NamedTuple):
    """What a record of the prompt must hold."""

    state: str
    occurrence: str | None


@dataclass
class Part:
    """The prompt ``fetch``: "a person is wanted, nothing is wrong".

    It "ends by `collected`, its `until`, or the next job; `when` turning false does not end it",
    and is raised again once its cause was gone or another job is over.
    """

    printer: str
    state: str = "ready"
    occurrence: str | None = None
    when: bool = False
    until: bool = False
    waits_still: bool = False
    awaits: set[object] = field(default_factory=set)
    news: bool = False
    raises: int = 0

    @property
    def waiting(self) -> bool:
        """As far as a lamp may show."""
        return self.waits_still or self.state == "waiting"

    def judge(self, *, when: bool, until: bool) -> None:
        """Take what is so."""
        self.when, self.until = when, until
        self._follow()

    def job_over(self) -> None:
        """A job ended: what is so by now is a new cause."""
        if self.state == "spent":
            self._to("ready")
            self._follow()

    def next_job(self) -> None:
        """A job began."""
        if self.state == "waiting" or (self.state == "ready" and self.when):
            self._to("spent")
            self._follow()

    def collect(self, wish: object) -> None:
        """A person says that it is done; it shows once that is kept."""
        self.waits_still = True
        self.awaits.add(wish)
        self._to("spent")

    def confirm(self, wish: object) -> None:
        """Kept, or not to be."""
        self.awaits.discard(wish)
        self.waits_still = bool(self.awaits)

    def _follow(self) -> None:
        while True:
            if self.state == "ready" and self.when:
                self._to("waiting")
                self.occurrence, self.waits_still = "", False
                self.awaits.clear()
                self.raises += 1
            elif self.state == "waiting" and self.until:
                self._to("spent")
            elif self.state == "spent" and not self.when:
                self._to("ready")
            else:
                return

    def _to(self, state: str) -> None:
        self.state, self.occurrence, self.news = state, None, True

    @property
    def is_normal(self) -> bool:
        """Nothing that a restart would have to know."""
        return self.state == "ready"

    def keep(self, _: Now) -> KeptPart:
        """All that crosses a start."""
        return KeptPart(self.state, self.occurrence)

    def restore(self, record: KeptPart) -> None:
        """As it was kept."""
        self.state, self.occurrence = record.state, record.occurrence
