"""The minds of a site's printers, and what is kept, told and published of their changes."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Final, Literal, TypeAlias

from bridge.engine.actions import Note, Publish, Scalar
from bridge.engine.agenda import Agenda
from bridge.engine.keeping import Keeping
from bridge.engine.mind import NOTHING, Machine, Mind
from bridge.engine.records import Happening, StateRecord
from bridge.engine.site import Site
from bridge.facts.jobs import Job
from bridge.facts.memory import STALLED, MemoryRecord
from bridge.facts.moment import Moment
from bridge.facts.stamp import Stamp
from bridge.facts.values import Facts
from bridge.rules.alarm_records import AlarmRecord, Change, Kind, Occurrences, PromptRecord
from bridge.rules.alarm_states import State
from bridge.rules.alarming import AlarmMachine
from bridge.rules.prompt_states import PromptState

#: What a change is handed to: the printer's mind, and the facts that changed for the rules.
Changed: TypeAlias = Callable[[Mind, "set[str]", Moment], None]

#: What happens to an alarm or prompt that nobody needs to read of.
_UNTOLD: Final = frozenset({Kind.READY})
_LEVELS: Final[dict[Kind, Literal["info", "warning"]]] = {
    Kind.RAISED: "warning",
    Kind.ESCALATED: "warning",
}


class Minding:
    """What the rules see of every printer. Mutable; owned by the core."""

    def __init__(
        self,
        site: Site,
        seed: str,
        agenda: Agenda,
        keeping: Keeping,
        changed: Changed,
    ) -> None:
        self.counts: Counter[str] = Counter()
        self._agenda, self._keeping, self._changed = agenda, keeping, changed
        occurrences = Occurrences(seed)
        self.minds = {
            printer.name: Mind(site, printer, occurrences, self._machine_changed)
            for printer in site.printers.values()
        }
        self._jobs: dict[str, Job | None] = {}
        self._stale: dict[str, bool] = {}
        self._stalled: set[str] = set()
        self._chattering: set[tuple[str, str]] = set()
        self._now = Moment(0)

    def start(self, name: str, facts: Facts, now: Moment) -> None:
        """Take what is known of a printer at the start."""
        self._now = now
        mind = self.minds[name]
        mind.start(facts, now)
        self._after(mind, set(), now)

    def restore(
        self, records: Iterable[StateRecord], heard_until_wall_ms: int | None, now: Moment
    ) -> None:
        """As an earlier start left it; what is of nobody any more is closed."""
        self._now = now
        for record in records:
            match record:
                case AlarmRecord(alarm=name, printer=printer):
                    self._restore_alarm(record, name, printer, heard_until_wall_ms)
                case PromptRecord(prompt=name, printer=printer):
                    self._restore_prompt(record, name, printer)
                case MemoryRecord(printer=printer):
                    if printer in self.minds:
                        memory = self.minds[printer].memory
                        memory.restore(record, now)
                        self._jobs[printer] = memory.job
                        if STALLED in memory.own_reasons:
                            self._stalled.add(printer)

    def _restore_alarm(
        self, record: AlarmRecord, name: str, printer: str, heard_until_wall_ms: int | None
    ) -> None:
        mind = self.minds.get(printer)
        alarm = mind.alarms.get(name) if mind else None
        if alarm is not None:
            self._all(alarm, alarm.restore(record, self._now, heard_until_wall_ms))
        elif not record.is_normal:
            gone = AlarmRecord(name, printer, record.when, State.NORMAL, self._now.wall_ms)
            self._close("alarm", gone, name, record.occurrence)

    def _restore_prompt(self, record: PromptRecord, name: str, printer: str) -> None:
        mind = self.minds.get(printer)
        prompt = mind.prompts.get(name) if mind else None
        if prompt is not None:
            self._all(prompt, prompt.restore(record, self._now))
        elif not record.is_normal:
            gone = PromptRecord(name, printer, record.when, PromptState.READY)
            self._close("prompt", gone, name, record.occurrence)

    def _close(
        self,
        subject: Literal["alarm", "prompt"],
        gone: AlarmRecord | PromptRecord,
        name: str,
        occurrence: str | None,
    ) -> None:
        """What the site does not have any more: told once, as its record is then normal."""
        self._keeping.state(gone, self._now)
        kind, why = Kind.WITHDRAWN.value, "the site does not have it any more"
        happening = Happening(subject, kind, self._now.wall_ms, gone.printer, name=name, cause=why)
        self._keeping.happened(replace(happening, occurrence=occurrence or ""))
        fields = {subject: name, "printer": gone.printer, "why": why}
        self._keeping.emit(Note("warning", f"{subject} that stood is closed", fields))

    def facts_changed(self, name: str, facts: Facts, names: Iterable[str], now: Moment) -> None:
        """Facts of a printer changed."""
        self._now = now
        mind = self.minds[name]
        self._after(mind, mind.heard(facts, names, now), now)

    def remember(self, name: str, facts: Facts, now: Moment) -> None:
        """Take what no rule waits for into the memory."""
        self._now = now
        mind = self.minds[name]
        self._after(mind, mind.remember(facts, now), now)

    def settle(self, name: str, due: Moment) -> None:
        """A printer's alarms, memory or times reached a deadline."""
        self._now = due
        mind = self.minds[name]
        self._after(mind, mind.settle(due), due)

    def clock(self, now: Moment) -> None:
        """The wall clock became known or was stepped."""
        self._now = now
        for mind in self.minds.values():
            self._after(mind, mind.clock(now), now)

    def refresh(self, machine: Machine, now: Moment) -> None:
        """A wish changed how an alarm or prompt stands."""
        self._now = now
        mind = self.minds[machine.printer]
        self._after(mind, mind.refresh(machine), now)

    def machines(self) -> Iterator[Machine]:
        """Every alarm and prompt of every printer."""
        for mind in self.minds.values():
            yield from mind.machines()

    def record_all(self, now: Moment) -> None:
        """Record every state that is not normal."""
        for mind in self.minds.values():
            for machine in mind.machines():
                record = machine.record(now)
                if not record.is_normal:
                    self._keeping.state(record, now)
            self._keeping.state(mind.memory.record(now), now)

    def wished(self, machine: Machine, change: Change, raised: Stamp | None) -> None:
        """Tell of a change that somebody wished for; its record is the wisher's business.

        ``raised``: when its occurrence began, which what is over does not know any more.
        """
        self._tell(machine, change, raised)

    # Within

    def _after(self, mind: Mind, changed: set[str], now: Moment) -> None:
        self._agenda.set("mind", mind.name, mind.deadline(now))
        self._look_at_job(mind, now)
        stale = mind.facts.get("stale") is True
        if self._stale.get(mind.name) is not stale:
            self._stale[mind.name] = stale
            what = "stale" if stale else "fresh"
            self._keeping.happened(Happening("hearing", what, now.wall_ms, printer=mind.name))
        if changed:
            self._changed(mind, changed, now)

    def _look_at_job(self, mind: Mind, now: Moment) -> None:
        """Keep the memory where it is worth it, and tell of a job that is over."""
        remembered, mind.remembered = mind.remembered, NOTHING
        if remembered.keep:
            durable = remembered.begun or remembered.ended
            self._keeping.state(mind.memory.record(now), now, durable=durable)
        job = self._jobs.get(mind.name)
        if remembered.ended and job is not None:
            self._keeping.happened(_job_over(mind, job, now))
        if remembered is not NOTHING:
            self._look_whether_it_stalled(mind, job, now)
            self._jobs[mind.name] = mind.memory.job

    def _look_whether_it_stalled(self, mind: Mind, job: Job | None, now: Moment) -> None:
        if STALLED not in mind.memory.own_reasons:
            self._stalled.discard(mind.name)
        elif mind.name not in self._stalled:
            self._stalled.add(mind.name)
            if job is not None:
                self._keeping.happened(_of_job("stalled", mind, job, now))

    def _all(self, machine: Machine, changes: Iterable[Change]) -> None:
        for change in changes:
            self._machine_changed(machine, change)

    def _machine_changed(self, machine: Machine, change: Change) -> None:
        self._keeping.state(change.record, change.at)
        self._tell(machine, change)

    def _tell(self, machine: Machine, change: Change, raised: Stamp | None = None) -> None:
        kind = change.kind
        if kind in _UNTOLD or _never_waited(change):
            return
        is_alarm = isinstance(machine, AlarmMachine)
        subject: Literal["alarm", "prompt"] = "alarm" if is_alarm else "prompt"
        self.counts[f"{subject}s {kind.value}"] += 1
        is_answer = kind in {Kind.ACKNOWLEDGED, Kind.COLLECTED}
        happening = Happening(
            subject,
            kind.value,
            change.at.wall_ms,
            printer=change.printer,
            name=change.name,
            cause=change.reason,
            occurrence=change.occurrence or "",
            who=change.who,
            after_ms=raised.age_ms(change.at) if raised and is_answer else None,
        )
        self._keeping.happened(happening)
        fields: dict[str, Scalar] = {
            subject: change.name,
            "printer": change.printer,
            "occurrence": change.occurrence,
        }
        fields |= {
            key: value for key, value in (("who", change.who), ("why", change.reason)) if value
        }
        level = _LEVELS.get(kind, "info") if is_alarm else "info"
        self._keeping.emit(Note(level, f"{subject} {kind.value}", fields))
        if isinstance(machine, AlarmMachine):
            self._chatters(machine, change.at)
            if kind is Kind.ESCALATED:
                self._publish(machine, change)

    def _chatters(self, alarm: AlarmMachine, now: Moment) -> None:
        key = (alarm.alarm.name, alarm.printer)
        chattering = alarm.is_chattering(now)
        if chattering and key not in self._chattering:
            fields = {"alarm": key[0], "printer": key[1], "do": "give it a longer off-delay"}
            self._keeping.emit(
                Note("warning", "alarm chatters: raised three times in a minute", fields)
            )
        (self._chattering.add if chattering else self._chattering.discard)(key)

    def _publish(self, alarm: AlarmMachine, change: Change) -> None:
        escalate = alarm.alarm.escalate
        if escalate is None or escalate.publish is None:
            return
        said = {
            "alarm": change.name,
            "printer": change.printer,
            "occurrence": change.occurrence,
            "state": change.after,
            "priority": alarm.alarm.priority,
            "cause": alarm.alarm.cause,
            "response": alarm.alarm.response,
        }
        payload = json.dumps(said, sort_keys=True, separators=(",", ":")).encode()
        self._keeping.emit(Publish(escalate.broker, escalate.publish, payload))


def _never_waited(change: Change) -> bool:
    """A prompt of the job before that the next one passed over: nothing that was seen ended."""
    return change.kind is Kind.ENDED and change.before == PromptState.READY.value


def _job_over(mind: Mind, job: Job, now: Moment) -> Happening:
    vanished = mind.memory.vanished
    last = mind.memory.facts.get("last-job")
    what = "vanished" if vanished is not None else last if isinstance(last, str) else "no-value"
    return _of_job(what, mind, job, now)


def _of_job(what: str, mind: Mind, job: Job, now: Moment) -> Happening:
    return Happening(
        "job",
        what,
        now.wall_ms,
        printer=mind.name,
        name=job.name or "",
        after_ms=job.began.age_ms(now),
        progress=job.progress,
    )
