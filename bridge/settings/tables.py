"""The decision tables from the file's model; each row carries what its scene says."""

from __future__ import annotations

from collections.abc import Mapping

from bridge.facts.values import FactValue
from bridge.facts.vocabulary import COMFORTABLE, Says
from bridge.rules.table import Expect, Row, Table
from bridge.scenes.scene import Scene
from bridge.settings.conditions import conditions_of, given_value
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import shown
from bridge.settings.rules_file import Case, Rule, RulesFile
from bridge.settings.rules_file import Table as TableKeys
from bridge.settings.shapes import whole, whole_items
from bridge.settings.spot import Spot

#: What the grammar has beside scenes, for later.
_HAND_BACK = "hand-back"


class Legend:
    """The scenes as the tables use them: by name, with what each says."""

    def __init__(self, names: Names, scenes: Mapping[str, Scene]) -> None:
        self.names = names
        self.scenes = scenes

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


def tables_of(rules: RulesFile, legend: Legend, spot: Spot) -> dict[str, Table]:
    """Every table, with the rows that are right."""
    refuse_clashes(spot.at("tables"), rules.tables)
    return {
        name: _table(name, keys, legend, spot.at("tables", name))
        for name, keys in whole(rules.tables)
    }


def _table(name: str, keys: TableKeys, legend: Legend, spot: Spot) -> Table:
    says = legend.refuse_comfort(
        spot.at("otherwise"), keys.otherwise, "what shows when no rule holds"
    )
    _refuse_same_names(keys, spot.at("rules"))
    rows = [_row(rule, legend, spot.at("rules", index)) for index, rule in whole_items(keys.rules)]
    cases = [
        _expect(case, legend, spot.at("expect", index)) for index, case in whole_items(keys.expect)
    ]
    otherwise = Row("otherwise", (), keys.otherwise, says or "unknown", spot.at("otherwise").source)
    return Table(name, tuple(rows), otherwise, tuple(cases))


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


def _row(rule: Rule, legend: Legend, spot: Spot) -> Row:
    when = [
        condition
        for name, test in rule.when.items()
        for condition in conditions_of(name, test, spot.at("when", name))
    ]
    says: Says | None = None
    if rule.show == _HAND_BACK:
        spot.at("show").wrong(
            f"{_HAND_BACK} is part of the grammar but not acted on by this version, name a scene"
        )
    else:
        says = legend.says(spot.at("show"), rule.show)
    return Row(rule.name, tuple(when), rule.show, says or "unknown", spot.source)


def _expect(case: Case, legend: Legend, spot: Spot) -> Expect:
    given: dict[str, FactValue] = {}
    for name, value in case.given.items():
        fact = given_value(name, value, spot.at("given", name))
        if fact is not None:
            given[name] = fact
    legend.says(spot.at("shows"), case.shows)
    return Expect(given, case.shows, spot.source)
