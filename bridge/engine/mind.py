"""What the rules see of one printer: its facts, its past, its alarms and prompts, and the time.

One change runs once through all of it, in one order: facts, memory, time, alarms, prompts, and the
rows that must have lasted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import chain
from typing import Final, TypeAlias, TypeVar

from bridge.engine.offered import applies, facts_of, offered_by
from bridge.engine.site import Printer, Site
from bridge.facts.memory import REASONS, REMEMBERS, Memory, Remembered
from bridge.facts.moment import Moment
from bridge.facts.truth import Truth
from bridge.facts.values import Facts, FactValue
from bridge.rules.alarm_records import Change, Kind, Occurrences
from bridge.rules.alarming import AlarmMachine
from bridge.rules.conditions import Condition, all_hold
from bridge.rules.lasting import Lasted
from bridge.rules.prompting import PromptMachine
from bridge.rules.table import ALARM_PREFIX, PROMPT_PREFIX
from bridge.rules.timing import SINCE, Times, in_seconds

Machine: TypeAlias = AlarmMachine | PromptMachine
#: What is told of each change that nobody wished for.
Told: TypeAlias = Callable[[Machine, Change], None]

NOTHING: Final = Remembered()
#: What the rules see only as the memory has it.
_BY_MEMORY: Final = SINCE | {REASONS}
_Tested = TypeVar("_Tested", AlarmMachine, PromptMachine, Lasted)


class Mind:
    """One printer as the rules see it. Mutable; owned by the engine; no clock of its own."""

    def __init__(self, site: Site, printer: Printer, occurrences: Occurrences, told: Told) -> None:
        self.name = printer.name
        reader = printer.reader
        self.offered = offered_by(site, reader)
        #: Everything that a condition can test. Read by the rules, written only here.
        self.facts: dict[str, FactValue] = {}
        self.memory = Memory(printer.name)
        self.alarms = {
            alarm.name: AlarmMachine(alarm, printer.name, occurrences)
            for alarm in site.alarms.values()
            if applies(alarm, reader)
        }
        self.prompts = {
            prompt.name: PromptMachine(prompt, printer.name, occurrences)
            for prompt in site.prompts.values()
            if applies(prompt, reader)
        }
        #: What the memory went through since somebody last took this away.
        self.remembered = NOTHING
        self._told = told
        tables = {
            segment.table: site.tables[segment.table]
            for segment in site.segments.values()
            if segment.table is not None and printer.name in segment.printers
        }
        rows = [row for table in tables.values() for row in table.rows]
        self._lasted = tuple(Lasted(row, row.lasting) for row in rows if row.lasting is not None)
        conditions = chain(
            *(row.when for row in rows),
            *(machine.alarm.when for machine in self.alarms.values()),
            *(_conditions_of(machine) for machine in self.prompts.values()),
        )
        self._times = Times(conditions, site.zone)
        self._alarms_by = _by_fact((m, m.alarm.when) for m in self.alarms.values())
        self._prompts_by = _by_fact((m, _conditions_of(m)) for m in self.prompts.values())
        self._lasted_by = _by_fact((row, row.when) for row in self._lasted)

    def machines(self) -> tuple[Machine, ...]:
        """Its alarms and its prompts."""
        return (*self.alarms.values(), *self.prompts.values())

    def start(self, facts: Facts, now: Moment) -> None:
        """Take what is known at the start."""
        for machine in self.machines():
            self.facts[_fact_of(machine)] = machine.symbol()
        # What was restored is no change that the memory would tell of.
        self.facts.update((n, fact) for n, fact in self.memory.facts.items() if n not in SINCE)
        self.facts.update((row.fact, row.value) for row in self._lasted)
        self.heard(facts, frozenset(facts), now)
        # Machines that read what was restored are judged by it too.
        self._follow(set(self.facts), NOTHING, now)

    def heard(self, facts: Facts, names: Iterable[str], now: Moment) -> set[str]:
        """Take the printer's own facts where they changed; returns what changed for the rules."""
        changed: set[str] = set()
        remembered = NOTHING
        for name in names:
            if name not in _BY_MEMORY:
                self.facts[name] = facts[name]
                changed.add(name)
        if not REMEMBERS.isdisjoint(names):
            remembered = self.memory.judge(facts, now)
        return self._follow(changed, remembered, now)

    def remember(self, facts: Facts, now: Moment) -> set[str]:
        """Let the memory have what no rule waits for."""
        return self._follow(set(), self.memory.judge(facts, now), now)

    def settle(self, now: Moment) -> set[str]:
        """Everything that is due at ``now``."""
        changed: set[str] = set()
        remembered = self.memory.settle(now)
        for alarm in self.alarms.values():
            self._tell(alarm, alarm.settle(now), changed)
        for row in self._lasted:
            if row.settle(now.ms):
                self._put(row.fact, row.value, changed)
        return self._follow(changed, remembered, now)

    def clock(self, now: Moment) -> set[str]:
        """The wall clock became known or was stepped."""
        changed: set[str] = set()
        remembered = self.memory.clock(now)
        for alarm in self.alarms.values():
            self._tell(alarm, alarm.clock(now), changed)
        for prompt in self.prompts.values():
            prompt.clock(now)
        return self._follow(changed, remembered, now)

    def deadline(self, now: Moment) -> int | None:
        """The next instant at which something changes with nothing heard."""
        dues = [alarm.deadline() for alarm in self.alarms.values()]
        dues += [row.deadline() for row in self._lasted]
        dues += [self.memory.deadline(), self._times.next_ms(self.memory.facts, now)]
        return min((due for due in dues if due is not None), default=None)

    def refresh(self, machine: Machine) -> set[str]:
        """See anew how a machine stands, after a wish about it."""
        changed: set[str] = set()
        self._put(_fact_of(machine), machine.symbol(), changed)
        return changed

    def picture(self, facts: Facts, now: Moment) -> dict[str, FactValue]:
        """For people: the printer's whole facts, with the memory's, the alarms' and the time's."""
        own = {name: value for name, value in self.facts.items() if name not in facts}
        memory = self.memory.facts
        past = {name: in_seconds(memory[name], now) for name in sorted(SINCE)}
        times = self._times.values(memory, now)
        return {**facts, **own, **past, **times, REASONS: memory[REASONS]}

    # Within

    def _follow(self, changed: set[str], remembered: Remembered, now: Moment) -> set[str]:
        if remembered is not NOTHING:
            self.remembered = self.remembered.then(remembered)
        for name in remembered.changed:
            if name not in SINCE:
                self._put(name, self.memory.facts[name], changed)
        if self._times.facts:
            for name, value in self._times.values(self.memory.facts, now).items():
                self._put(name, value, changed)
        for alarm in _touched(self._alarms_by, changed):
            truth = all_hold(alarm.alarm.when, self.facts)
            self._tell(alarm, alarm.judge(truth, now), changed)
        self._follow_prompts(changed, remembered, now)
        for row in _touched(self._lasted_by, changed):
            if row.judge(self.facts, now.ms):
                self._put(row.fact, row.value, changed)
        return changed

    def _follow_prompts(self, changed: set[str], remembered: Remembered, now: Moment) -> None:
        for prompt in _touched(self._prompts_by, changed):
            until = prompt.prompt.until
            ended = Truth.FALSE if until is None else all_hold(until, self.facts)
            told = prompt.judge(all_hold(prompt.prompt.when, self.facts), ended, now)
            self._tell(prompt, told, changed)
        for prompt in self.prompts.values():
            if remembered.ended:
                self._tell(prompt, prompt.job_over(now), changed)
            if remembered.begun:
                self._tell(prompt, prompt.next_job(now), changed)

    def _tell(self, machine: Machine, changes: Iterable[Change], changed: set[str]) -> None:
        for change in changes:
            self._told(machine, change)
            if change.kind is Kind.ESCALATED:
                # The same word, and yet more segments show it.
                changed.add(_fact_of(machine))
        self._put(_fact_of(machine), machine.symbol(), changed)

    def _put(self, name: str, value: FactValue, changed: set[str]) -> None:
        if self.facts.get(name) != value:
            self.facts[name] = value
            changed.add(name)


def _fact_of(machine: Machine) -> str:
    if isinstance(machine, AlarmMachine):
        return ALARM_PREFIX + machine.alarm.name
    return PROMPT_PREFIX + machine.prompt.name


def _conditions_of(machine: PromptMachine) -> tuple[Condition, ...]:
    return (*machine.prompt.when, *(machine.prompt.until or ()))


def _by_fact(
    tested: Iterable[tuple[_Tested, Iterable[Condition]]],
) -> dict[str, tuple[_Tested, ...]]:
    found: dict[str, list[_Tested]] = {}
    for each, conditions in tested:
        for fact in sorted(facts_of(conditions)):
            found.setdefault(fact, []).append(each)
    return {fact: tuple(those) for fact, those in found.items()}


def _touched(by_fact: dict[str, tuple[_Tested, ...]], changed: set[str]) -> list[_Tested]:
    """Each once, in the order of their declaration: what happens may not hang on a set's order."""
    if by_fact.keys().isdisjoint(changed):
        return []
    names = [name for name in by_fact if name in changed]
    return list(dict.fromkeys(each for name in names for each in by_fact[name]))
