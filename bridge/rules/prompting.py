"""One prompt of one printer over time: truths, jobs and wishes in, changes out.

It has no delays and so no deadlines. When a job is over, first ``judge`` with what is so by then,
after that ``job_over``.
"""

from __future__ import annotations

from collections import Counter
from typing import Final

from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp, placed, wall_of
from bridge.facts.truth import Truth
from bridge.facts.values import Unknown, Why
from bridge.rules.alarm import Prompt, facts_text
from bridge.rules.alarm_records import (
    Acknowledgement,
    Change,
    Kind,
    Occurrences,
    PromptRecord,
    Refusal,
    WhyRefused,
)
from bridge.rules.prompt_states import (
    PROMPT_SYMBOLS,
    PROMPT_TRANSITIONS,
    PromptSignal,
    PromptState,
    next_prompt_state,
)
from bridge.rules.withheld import Withheld

_KINDS: Final = {
    PromptSignal.RAISE: Kind.RAISED,
    PromptSignal.COLLECT: Kind.COLLECTED,
    PromptSignal.END: Kind.ENDED,
    PromptSignal.NEXT_JOB: Kind.ENDED,
    PromptSignal.JOB_OVER: Kind.READY,
    PromptSignal.GONE: Kind.READY,
    PromptSignal.WITHDRAW: Kind.WITHDRAWN,
}
_EDITED: Final = "what raises it was edited"


class PromptMachine:
    """The life of one prompt. Mutable; owned by the engine; no clock of its own."""

    def __init__(self, prompt: Prompt, printer: str, occurrences: Occurrences) -> None:
        self.prompt = prompt
        self.printer = printer
        self.state = PromptState.READY
        #: The occurrence that waits, and since when.
        self.occurrence: str | None = None
        self.raised: Stamp | None = None
        #: The last one that a person ended, kept for whoever says so twice.
        self.last_collected: Acknowledgement | None = None
        #: How often what happened in this start.
        self.counts: Counter[Kind] = Counter()
        self._occurrences = occurrences
        self._when = self._until = Truth.UNKNOWN
        self._withheld: Withheld[PromptState] = Withheld()
        self._number = 0

    def symbol(self) -> str | Unknown:
        """What ``prompt: NAME`` sees; unknown while normal with a condition that is unknown."""
        if self.is_waiting:
            return PromptState.WAITING.value
        if self._when is Truth.UNKNOWN:
            return Unknown(Why.UNJUDGED, facts_text(self.prompt.when))
        return PROMPT_SYMBOLS[0]

    @property
    def is_waiting(self) -> bool:
        """Whether a person is wanted, as far as a lamp may show."""
        return self._withheld.shown(self.state) is PromptState.WAITING

    def record(self, now: Moment) -> PromptRecord:
        """All that crosses a start."""
        return PromptRecord(
            prompt=self.prompt.name,
            printer=self.printer,
            when=self.prompt.when_text,
            state=self.state,
            occurrence=self.occurrence,
            raised_wall_ms=wall_of(self.raised, now),
            collected=self.last_collected,
        )

    def judge(self, when: Truth, until: Truth, now: Moment) -> tuple[Change, ...]:
        """Take the truths of its conditions; without an ``until`` that one is false."""
        self._when, self._until = when, until
        return self._follow(now)

    def next_job(self, now: Moment) -> tuple[Change, ...]:
        """Another job began: nobody waits for the last one's part any more."""
        return self._job(PromptSignal.NEXT_JOB, now)

    def job_over(self, now: Moment) -> tuple[Change, ...]:
        """A job ended, however: what is so now is a new cause."""
        return self._job(PromptSignal.JOB_OVER, now)

    def collected(self, occurrence: str, who: str, now: Moment) -> Change | Refusal:
        """Somebody has done what was wanted."""
        if occurrence != self.occurrence:
            stands = f"{self.occurrence} stands" if self.occurrence else ""
            last = self.last_collected
            if last is not None and last.occurrence == occurrence:
                return Refusal(WhyRefused.ALREADY_COLLECTED, stands)
            return Refusal(WhyRefused.UNKNOWN_OCCURRENCE, stands)
        self.last_collected = Acknowledgement(occurrence, who, now.wall_ms)
        self._withheld.withhold(self._number + 1, self.state)
        return self._move(PromptSignal.COLLECT, now, who=who)

    def confirmed(self, number: int) -> None:
        """The record of a change that waits is durable, or will not be kept: now it may show."""
        self._withheld.confirmed(number)

    def clock(self, now: Moment) -> None:
        """The wall clock became known or was stepped."""
        self.raised = placed(self.raised, now)

    def adopt(self, prompt: Prompt, now: Moment) -> tuple[Change, ...]:
        """The same prompt after an edit; another ``when`` closes what waits."""
        changes: tuple[Change, ...] = ()
        if frozenset(prompt.when) != frozenset(self.prompt.when):
            changes = self.withdraw(now, _EDITED)
        self.prompt = prompt
        self._until = Truth.UNKNOWN
        return changes

    def withdraw(self, now: Moment, reason: str = "it was taken out") -> tuple[Change, ...]:
        """An edit took it away."""
        self._when = self._until = Truth.UNKNOWN
        if self.state is PromptState.READY:
            return ()
        return (self._move(PromptSignal.WITHDRAW, now, reason=reason),)

    def restore(self, record: PromptRecord, now: Moment) -> tuple[Change, ...]:
        """As an earlier start left it; nothing is known of its conditions yet."""
        self.state, self.occurrence = record.state, record.occurrence
        self.last_collected = record.collected
        self.raised = Stamp.restored(record.raised_wall_ms, now)
        edited = record.when != self.prompt.when_text
        return self.withdraw(now, _EDITED) if edited else ()

    def _job(self, signal: PromptSignal, now: Moment) -> tuple[Change, ...]:
        is_idle = self.state is PromptState.READY and self._when is Truth.FALSE
        if is_idle or (self.state, signal) not in PROMPT_TRANSITIONS:
            return ()
        return (self._move(signal, now, reason=signal.value), *self._follow(now))

    def _follow(self, now: Moment) -> tuple[Change, ...]:
        """Whatever the truths, as they are known now, lead to from here."""
        changes: list[Change] = []
        while (signal := self._next_signal()) is not None:
            changes.append(self._move(signal, now))
        return tuple(changes)

    def _next_signal(self) -> PromptSignal | None:
        if self.state is PromptState.READY and self._when is Truth.TRUE:
            return PromptSignal.RAISE
        if self.state is PromptState.WAITING and self._until is Truth.TRUE:
            return PromptSignal.END
        if self.state is PromptState.SPENT and self._when is Truth.FALSE:
            return PromptSignal.GONE
        return None

    def _move(self, signal: PromptSignal, at: Moment, *, who: str = "", reason: str = "") -> Change:
        before, occurrence = self.state, self.occurrence
        self.state = next_prompt_state(before, signal)
        if signal is PromptSignal.RAISE:
            self.occurrence, self.raised = self._occurrences.name(), Stamp.of(at)
            occurrence = self.occurrence
        else:
            self.occurrence = self.raised = None
        if signal in {PromptSignal.RAISE, PromptSignal.WITHDRAW}:
            self._withheld.drop()
        self._number += 1
        kind = _KINDS[signal]
        self.counts[kind] += 1
        return Change(
            kind=kind,
            name=self.prompt.name,
            printer=self.printer,
            occurrence=occurrence,
            before=before.value,
            after=self.state.value,
            at=at,
            who=who,
            reason=reason,
            number=self._number,
            waits=signal is PromptSignal.COLLECT,
            record=self.record(at),
        )
