"""Alarms and prompts from the file's model, with the segments and brokers that they name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bridge.rules.alarm import Alarm, Escalation, Prompt
from bridge.rules.conditions import Condition
from bridge.rules.table import Table
from bridge.settings.conditions import conditions_of
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import shown
from bridge.settings.rules_file import Alarm as AlarmKeys
from bridge.settings.rules_file import Escalate, Raised, RulesFile
from bridge.settings.rules_file import Prompt as PromptKeys
from bridge.settings.shapes import whole
from bridge.settings.spot import Spot
from bridge.settings.tables import Legend


@dataclass(frozen=True, slots=True)
class AlarmMaker:
    """Makes the alarms of one site. ``segments`` are the names of segments and of their sets."""

    tables: Mapping[str, Table]
    legend: Legend
    segments: Names
    brokers: Names

    def make(self, rules: RulesFile, spot: Spot) -> dict[str, Alarm]:
        """Every alarm, with the conditions that are right."""
        at = spot.at("alarms")
        refuse_clashes(at, rules.alarms)
        return {name: self._alarm(name, keys, at.at(name)) for name, keys in whole(rules.alarms)}

    def _alarm(self, name: str, keys: AlarmKeys, spot: Spot) -> Alarm:
        self._check_segments(keys.segments, spot.at("segments"))
        return Alarm(
            name=name,
            when=_conditions(keys.when, spot.at("when")),
            on_delay_ms=keys.on_delay,
            off_delay_ms=keys.off_delay,
            sequence=keys.sequence,
            priority=keys.priority,
            cause=keys.cause,
            response=keys.response,
            escalate=self._escalation(keys.escalate, spot.at("escalate")),
            source=spot.document.key_source(spot.path),
            segments=tuple(keys.segments),
            show=self._show(name, keys, spot),
        )

    def _show(self, name: str, keys: AlarmKeys, spot: Spot) -> str:
        """What the segments show that carry it: its own scene, or that of its first rule."""
        if keys.show is not None:
            self.legend.refuse_comfort(spot.at("show"), keys.show, "an alarm")
            return keys.show
        rows = (row for table in self.tables.values() for row in table.rows)
        show = next((row.show for row in rows if row.alarm == name), "")
        carried = keys.segments or (keys.escalate is not None and keys.escalate.segments)
        if carried and not show:
            spot.wrong_key("needs 'show' for its segments, as no rule names it")
        return show

    def _escalation(self, keys: Escalate | None, spot: Spot) -> Escalation | None:
        if keys is None:
            return None
        self._check_segments(keys.segments, spot.at("segments"))
        if not keys.segments and keys.publish is None:
            spot.wrong_key("does nothing, give it segments or publish")
        if keys.publish is None:
            return Escalation(keys.after, tuple(keys.segments))
        self.brokers.has(spot.at("publish", "broker"), keys.publish.broker)
        topic = keys.publish.topic
        if set(topic) & set("+#\0"):
            spot.at("publish", "topic").wrong(
                f"{shown(topic)} has a wildcard, a message goes to one topic"
            )
        return Escalation(keys.after, tuple(keys.segments), topic, keys.publish.broker)

    def _check_segments(self, names: Iterable[str], spot: Spot) -> None:
        for index, name in enumerate(names):
            self.segments.has(spot.at(index), name)


def prompts_of(rules: RulesFile, spot: Spot) -> dict[str, Prompt]:
    """Every prompt, with the conditions that are right."""
    at = spot.at("prompts")
    refuse_clashes(at, rules.prompts)
    return {name: _prompt(name, keys, at.at(name)) for name, keys in whole(rules.prompts)}


def _prompt(name: str, keys: PromptKeys, spot: Spot) -> Prompt:
    until = None if keys.until is None else _conditions(keys.until, spot.at("until"))
    when = _conditions(keys.when, spot.at("when"))
    return Prompt(name, when, until, keys.response, spot.document.key_source(spot.path))


def _conditions(tests: Raised, spot: Spot) -> tuple[Condition, ...]:
    return tuple(
        condition
        for name, test in tests.items()
        for condition in conditions_of(name, test, spot.at(name))
    )
