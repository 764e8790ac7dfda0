"""The same tables in other engines: closures, JSON logic, a decision-table engine, expressions.

Each takes the facts in the form that suits it best, made before the clock starts: an engine that
parses JSON is given a parsed document. All know every fact, which is their case; ours answers for
what is unknown as well.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from typing import Any

import datalogic_py
import rule_engine  # type: ignore[import-untyped]
import simpleeval  # type: ignore[import-untyped]
import zen

from bridge.facts.values import FactValue
from bridge.rules.conditions import Condition, NumberIn, SymbolIs, TruthIs
from bridge.rules.table import Table

#: Decides once more for the situation that it was made for: the row's number, or -1.
Decide = Callable[[], int]
_Facts = Mapping[str, FactValue]
_Test = Callable[[_Facts], bool]


def closures(table: Table, facts: _Facts) -> Decide:
    """The obvious way: a list of closures a row, the first row of which all are true."""
    rows = [[_closure(condition) for condition in row.when] for row in table.rows]

    def decide() -> int:
        for number, tests in enumerate(rows):
            for test in tests:
                if not test(facts):
                    break
            else:
                return number
        return -1

    return decide


def _closure(condition: Condition) -> _Test:
    fact = condition.fact
    match condition:
        case SymbolIs():
            wanted = condition.wanted
            return lambda facts: facts[fact] in wanted
        case NumberIn():
            return _between(fact, condition.interval.least, condition.interval.most)
        case TruthIs():
            truth = condition.wanted
            return lambda facts: facts[fact] is truth
        case _:
            raise TypeError(f"{condition} is not among the measured conditions")


def _between(fact: str, least: float | None, most: float | None) -> _Test:
    if least is None:
        return lambda facts: facts[fact] < most  # type: ignore[operator]
    if most is None:
        return lambda facts: facts[fact] >= least  # type: ignore[operator]
    return lambda facts: least <= facts[fact] < most  # type: ignore[operator]


def datalogic(table: Table, facts: _Facts) -> Decide:
    """One ``if`` of JSON logic with a branch a row."""
    branches: list[object] = []
    for number, row in enumerate(table.rows):
        branches += [{"and": [_logic(each) for each in row.when]}, number]
    engine = datalogic_py.Engine()
    rule, session = engine.compile(json.dumps({"if": [*branches, -1]})), engine.session()
    document = datalogic_py.DataHandle(json.dumps(dict(facts)))
    return lambda: int(session.evaluate_int(rule, document))


def _logic(condition: Condition) -> object:
    of = {"var": condition.fact}
    match condition:
        case SymbolIs():
            return {"in": [of, sorted(condition.wanted)]}
        case NumberIn():
            least, most = condition.interval.least, condition.interval.most
            ends = [] if least is None else [{">=": [of, least]}]
            ends += [] if most is None else [{"<": [of, most]}]
            return {"and": ends} if len(ends) > 1 else ends[0]
        case _:
            return {"===": [of, isinstance(condition, TruthIs) and condition.wanted]}


def zen_table(table: Table, facts: _Facts) -> Decide:
    """A decision table with hit policy first."""
    names = {name: f"c{number}" for number, name in enumerate(facts)}
    decision = zen.ZenEngine().create_decision(json.dumps(_decision(table, names)))
    given = {names[name]: value for name, value in facts.items()}
    return lambda: int(decision.evaluate(given)["result"].get("row", -1))


def _decision(table: Table, names: Mapping[str, str]) -> dict[str, object]:
    rules = []
    for number, row in enumerate(table.rows):
        cells = dict.fromkeys(names.values(), "")
        cells |= {names[each.fact]: _cell(each) for each in row.when}
        rules.append({"_id": f"r{number}", "row": str(number), **cells})
    content = {
        "hitPolicy": "first",
        "inputs": [{"id": each, "name": each, "field": each} for each in names.values()],
        "outputs": [{"id": "row", "name": "row", "field": "row"}],
        "rules": rules,
    }
    place = {"position": {"x": 0, "y": 0}}
    nodes: list[dict[str, object]] = [
        {"id": "facts", "type": "inputNode", "name": "facts", **place},
        {"id": "table", "type": "decisionTableNode", "name": "table", "content": content, **place},
        {"id": "shown", "type": "outputNode", "name": "shown", **place},
    ]
    edges = [
        {"id": "in", "type": "edge", "sourceId": "facts", "targetId": "table"},
        {"id": "out", "type": "edge", "sourceId": "table", "targetId": "shown"},
    ]
    return {
        "contentType": "application/vnd.gorules.decision",
        "nodes": nodes,
        "edges": edges,
    }


def _cell(condition: Condition) -> str:
    match condition:
        case SymbolIs():
            return ", ".join(f'"{word}"' for word in sorted(condition.wanted))
        case NumberIn():
            least, most = condition.interval.least, condition.interval.most
            if least is None:
                return f"< {most}"
            return f">= {least}" if most is None else f"[{least}..{most})"
        case _:
            return str(isinstance(condition, TruthIs) and condition.wanted).lower()


def rule_engine_rules(table: Table, facts: _Facts) -> Decide:
    """A compiled rule a row."""
    rules = [rule_engine.Rule(_expression(row.when, _word_list)) for row in table.rows]
    thing = {_name(name): value for name, value in facts.items()}
    return lambda: _first(rule.matches(thing) for rule in rules)


def simpleeval_rules(table: Table, facts: _Facts) -> Decide:
    """A parsed expression a row."""
    evaluator = simpleeval.EvalWithCompoundTypes()
    evaluator.names = {_name(name): value for name, value in facts.items()}
    texts = [_expression(row.when, _word_tuple) for row in table.rows]
    parsed: list[tuple[str, Any]] = [(text, evaluator.parse(text)) for text in texts]
    return lambda: _first(evaluator.eval(text, previously_parsed=tree) for text, tree in parsed)


def _first(matches: Any) -> int:  # noqa: ANN401 - whatever the engine answers
    for number, match in enumerate(matches):
        if match:
            return number
    return -1


def _expression(when: tuple[Condition, ...], words: Callable[[SymbolIs], str]) -> str:
    return " and ".join(f"({_text(condition, words)})" for condition in when)


def _text(condition: Condition, words: Callable[[SymbolIs], str]) -> str:
    name = _name(condition.fact)
    match condition:
        case SymbolIs():
            return f"{name} in {words(condition)}"
        case NumberIn():
            least, most = condition.interval.least, condition.interval.most
            ends = [] if least is None else [f"{name} >= {least}"]
            ends += [] if most is None else [f"{name} < {most}"]
            return " and ".join(ends)
        case _:
            truth = isinstance(condition, TruthIs) and condition.wanted
            return name if truth else f"not {name}"


def _word_list(condition: SymbolIs) -> str:
    return "[" + ", ".join(f'"{word}"' for word in sorted(condition.wanted)) + "]"


def _word_tuple(condition: SymbolIs) -> str:
    return "(" + "".join(f'"{word}", ' for word in sorted(condition.wanted)) + ")"


def _name(fact: str) -> str:
    return fact.replace("-", "_")
