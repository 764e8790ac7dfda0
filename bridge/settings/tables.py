"""The decision tables from the file's model; each row carries what its scene says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, get_args

from bridge.facts.vocabulary import COMFORTABLE, Says
from bridge.rules.alarm import Priority
from bridge.rules.conditions import Condition
from bridge.rules.table import (
    Lasting,
    Row,
    Source,
    Table,
    alarm_stands,
    lasting_for,
    prompt_stands,
)
from bridge.scenes.scene import HAND_BACK, Scene
from bridge.settings.cases import CaseMaker
from bridge.settings.conditions import conditions_of
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import shown
from bridge.settings.quantities import DURATION
from bridge.settings.rules_file import ALARM, PROMPT, Rule, RulesFile
from bridge.settings.rules_file import Table as TableKeys
from bridge.settings.shapes import whole, whole_items
from bridge.settings.spot import Spot

#: Least first.
PRIORITIES: Final[tuple[Priority, ...]] = get_args(Priority)


class Legend:
    """The scenes as the tables use them: by name, with what each says."""

    def __init__(
        self, names: Names, scenes: Mapping[str, Scene], sources: Mapping[str, Source]
    ) -> None:
        self.names = names
        self.scenes = scenes
        #: Where each is written.
        self.sources = sources

    def says(self, spot: Spot, name: str) -> Says | None:
        """What a scene says, or ``None`` where that is not known; unknown names are a problem."""
        if not self.names.has(spot, name):
            return None
        return self.scenes[name].says if name in self.scenes else None

    def scene(self, name: str) -> Scene | None:
        """The scene of that name, if it could be read."""
        return self.scenes.get(name)

    def refuse_comfort(self, spot: Spot, name: str, what: str) -> Says | None:
        """What a scene says that stands for not knowing; it may not be a comfortable lie."""
        says = self.says(spot, name)
        if says in COMFORTABLE:
            spot.wrong(f"{shown(name)} says {says}, {what} must say unknown or graver")
        return says


@dataclass(frozen=True, slots=True)
class Raised:
    """What a rule may name besides facts."""

    alarms: Names
    prompts: Names


def tables_of(rules: RulesFile, legend: Legend, spot: Spot) -> dict[str, Table]:
    """Every table, with the rows that are right."""
    refuse_clashes(spot.at("tables"), rules.tables)
    raised = Raised(
        Names("alarm", "rules.yaml", frozenset(rules.alarms)),
        Names("prompt", "rules.yaml", frozenset(rules.prompts)),
    )
    tables = {}
    for name, keys in whole(rules.tables):
        at = spot.at("tables", name)
        _refuse_rising(rules, keys, at.at("rules"))
        tables[name] = _table(name, keys, rules, raised, legend, at)
    return tables


def _table(
    name: str, keys: TableKeys, rules: RulesFile, raised: Raised, legend: Legend, spot: Spot
) -> Table:
    says = legend.refuse_comfort(
        spot.at("otherwise"), keys.otherwise, "what shows when no rule holds"
    )
    _refuse_same_names(keys, spot.at("rules"))
    rows = tuple(
        _row(name, rule, raised, legend, spot.at("rules", index))
        for index, rule in whole_items(keys.rules)
    )
    cases = CaseMaker(name, keys, rules, raised.alarms, raised.prompts)
    expect = cases.make(spot.at("expect"))
    for index, case in whole_items(keys.expect):
        if case.shows != HAND_BACK:
            legend.says(spot.at("expect", index, "shows"), case.shows)
    otherwise = Row("otherwise", (), keys.otherwise, says or "unknown", spot.at("otherwise").source)
    return Table(name, rows, otherwise, expect)


def _refuse_same_names(keys: TableKeys, spot: Spot) -> None:
    first: dict[str, int] = {}
    for index, rule in whole_items(keys.rules):
        folded = rule.name.casefold()
        if folded in first:
            line = spot.at(first[folded], "name").source.line
            spot.at(index, "name").wrong(
                f"{shown(rule.name)} is also the name of the rule in line {line}"
            )
        first.setdefault(folded, index)


def _refuse_rising(rules: RulesFile, keys: TableKeys, spot: Spot) -> None:
    """An alarm must not be hidden by one that matters less."""
    priorities = {name: alarm.priority for name, alarm in whole(rules.alarms)}
    least: tuple[str, int] | None = None
    for index, rule in whole_items(keys.rules):
        alarm = rule.when.get(ALARM)
        if not isinstance(alarm, str) or alarm not in priorities:
            continue
        rank = PRIORITIES.index(priorities[alarm])
        if least is not None and rank > PRIORITIES.index(priorities[least[0]]):
            line = spot.at(least[1]).source.line
            spot.at(index, "when", ALARM).wrong(
                f"{shown(alarm)} has priority {priorities[alarm]} and stands below "
                f"{shown(least[0])} of priority {priorities[least[0]]} in line {line}: "
                "move the rule up"
            )
        elif least is None or rank < PRIORITIES.index(priorities[least[0]]):
            least = alarm, index


def _row(table: str, rule: Rule, raised: Raised, legend: Legend, spot: Spot) -> Row:
    when = [
        condition
        for name, test in rule.when.items()
        for condition in _conditions(name, test, raised, spot.at("when", name))
    ]
    says: Says | None = None
    if rule.show == HAND_BACK and ALARM in rule.when:
        spot.at("show").wrong(f"{HAND_BACK} would hide the alarm, an alarm must show a scene")
    elif rule.show == HAND_BACK:
        says = "resting"
    elif ALARM in rule.when:
        says = legend.refuse_comfort(spot.at("show"), rule.show, "an alarm")
    else:
        says = legend.says(spot.at("show"), rule.show)
    lasting = _lasting(table, rule, spot)
    return Row(rule.name, tuple(when), rule.show, says or "unknown", spot.source, lasting)


def _conditions(name: str, test: object, raised: Raised, spot: Spot) -> Iterator[Condition]:
    if name not in {ALARM, PROMPT}:
        yield from conditions_of(name, test, spot)
    elif not isinstance(test, str):
        spot.wrong(f"is {shown(test)}, expected the name of one {name}")
    elif name == ALARM:
        if raised.alarms.has(spot, test):
            yield alarm_stands(test)
    elif raised.prompts.has(spot, test):
        yield prompt_stands(test)


def _lasting(table: str, rule: Rule, spot: Spot) -> Lasting | None:
    if rule.lasting is None:
        return None
    if ALARM in rule.when:
        spot.at("lasting").wrong_key("an alarm's rule does not wait, give the alarm an on_delay")
        return None
    return lasting_for(table, rule.name, DURATION.whole(rule.lasting), rule.lasting)
