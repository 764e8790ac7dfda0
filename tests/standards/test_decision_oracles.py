"""Decisions and their analysis against engines that others wrote.

The z3 theorem prover (github.com/Z3Prover/z3) judges what is proved about tables: completeness,
every counterexample, rows that never decide, overlaps that cross. The rule-engine package of PyPI
judges first-hit decisions (OMG DMN 1.4, 8.2.8: hit policy first) where everything is known.
"""

from __future__ import annotations

import random

import pytest
import rule_engine  # type: ignore[import-untyped]

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue, Reasons, Unknown
from bridge.rules.conditions import (
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TimeOfDay,
    TruthIs,
)
from bridge.rules.decision import decide
from bridge.rules.table import Table
from tests.rules.made_up import FACTS, SEVERITIES, situation_of, table_of
from tests.standards.first_hit_in_z3 import differences


@pytest.mark.parametrize("first", range(0, 400, 20))
def test_what_is_proved_about_a_table_z3_proves_too(first: int) -> None:
    """Both verdicts, each with its example; tests.standards.first_hit_in_z3 goes on by itself."""
    found = {seed: said for seed in range(first, first + 20) if (said := differences(seed))}
    assert found == {}


def expression(condition: Condition) -> str:
    """A condition in the language of rule-engine, for facts that are known."""
    match condition:
        case TruthIs():
            return f"stale == {str(condition.wanted).lower()}"
        case NumberIn():
            return _interval(_name(condition.fact), condition.interval)
        case SymbolIs():
            # A known value is never the word unknown, so only the other words count.
            words = ", ".join(f'"{word}"' for word in sorted(condition.wanted)) or '"no word"'
            inside = f"{_name(condition.fact)} in [{words}]"
            return f"not ({inside})" if condition.negated else inside
        case SeverityAtLeast():
            return f"worst >= {condition.severity.value}"
        case ReasonsHave():
            each = [_has(keyword) for keyword in condition.keywords]
            joined = (" and " if condition.how == "all" else " or ").join(each)
            return f"not ({joined})" if condition.how == "none" else f"({joined})"
        case TimeOfDay():
            whole = condition.begin < condition.before
            name, both = _name(condition.fact), "and" if whole else "or"
            return f"({name} >= {condition.begin} {both} {name} < {condition.before})"


def _name(fact: str) -> str:
    return fact.replace("-", "_")


def _interval(name: str, interval: Interval) -> str:
    ends = []
    if interval.least is not None:
        ends.append(f"{name} {'>=' if interval.least_included else '>'} {interval.least}")
    if interval.most is not None:
        ends.append(f"{name} {'<=' if interval.most_included else '<'} {interval.most}")
    return " and ".join(ends)


def _has(keyword: Keyword) -> str:
    severities = SEVERITIES if keyword.severity is None else (keyword.severity,)
    words = [f'"{keyword.keyword}-{severity.name.lower()}"' for severity in severities]
    return "(" + " or ".join(f"{word} in reasons" for word in words) + ")"


def known(facts: dict[str, FactValue]) -> dict[str, object]:
    """The facts as rule-engine takes them."""
    thing: dict[str, object] = {}
    for name, value in facts.items():
        if isinstance(value, Reasons):
            thing["reasons"] = [reason.said for reason in value.known]
            thing["worst"] = max((reason.severity.value for reason in value.known), default=-1)
        else:
            thing[_name(name)] = value
    return thing


def first_hit(table: Table, facts: dict[str, FactValue]) -> str:
    """The first row whose every expression matches."""
    thing = known(facts)
    for row in table.rows:
        rule = rule_engine.Rule(" and ".join(f"({expression(each)})" for each in row.when))
        if rule.matches(thing):
            return row.name
    return "otherwise"


@pytest.mark.parametrize("seed", range(40))
def test_a_general_rule_engine_hits_the_same_row_first(seed: int) -> None:
    """Where all is known no row is passed over, and first hit is first hit."""
    rng = random.Random(seed)
    table = table_of(rng, 8)
    tried = 0
    while tried < 8:
        facts = situation_of(rng)
        if any(_is_not_whole(value) for value in facts.values()):
            continue
        tried += 1
        assert decide(table, facts, frozenset(FACTS)).row.name == first_hit(table, facts)


def _is_not_whole(value: FactValue) -> bool:
    return isinstance(value, Unknown) or (isinstance(value, Reasons) and not value.complete)
