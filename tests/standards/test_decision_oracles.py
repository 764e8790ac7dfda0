"""Decisions and their analysis against engines that others wrote.

The z3 theorem prover (github.com/Z3Prover/z3) judges what is proved about tables: completeness,
every counterexample, rows that never decide, overlaps that cross. The rule-engine package of PyPI
judges first-hit decisions (OMG DMN 1.4, 8.2.8: hit policy first) where everything is known.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import lru_cache

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
from bridge.rules.table import Row, Table, alarm_stands
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
    return fact.replace("-", "_").replace(" ", "_")


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


#: How an alarm may stand, written down here anew: those in which it is true, and of them those in
#: which nobody has acknowledged it.
UNSEEN = ("unacknowledged", "returned")
STANDING = (*UNSEEN, "acknowledged", "latched")
QUIET = ("normal", "shelved", "out-of-service")
ALARMS = ("spool", "lid", "heat")
#: Ends of spans of the day in s, and instants at, between and beside them.
ENDS = (0.0, 21_600.0, 43_200.0, 79_200.0)
INSTANTS = (*ENDS, 21_599.999, 30_000.0, 79_199.999, 80_000.0, 86_399.999)


@lru_cache(maxsize=64)
def parsed(text: str) -> rule_engine.Rule:
    """Once for all the situations of a table."""
    return rule_engine.Rule(text)


def with_alarms_and_times(rng: random.Random, table: Table) -> tuple[Table, dict[Row, list[str]]]:
    """The same rows, some about alarms and some about the time of day; and each row's alarms."""
    rows: dict[Row, list[str]] = {}
    for row in table.rows:
        alarms = rng.sample(ALARMS, rng.choice((0, 0, 1, 1, 2)))
        more: list[Condition] = [alarm_stands(name) for name in alarms]
        if rng.random() < 0.4:
            begin, before = rng.sample(ENDS, 2)
            more.append(TimeOfDay(begin, before, "a part of the day"))
        kept = row.when[: rng.choice((0, 1, 2))] or ((), row.when)[not more]
        rows[replace(row, when=(*more, *kept))] = alarms
    return Table("wall", tuple(rows), table.otherwise), rows


def first_of_expanded(rows: dict[Row, list[str]], facts: dict[str, FactValue]) -> str:
    """As a table is to be read: what nobody acknowledged first, then all as written."""
    thing = known(facts)

    def hits(row: Row, words: tuple[str, ...]) -> bool:
        listed = ", ".join(f'"{word}"' for word in words)
        parts = [f"alarm_{name} in [{listed}]" for name in rows[row]]
        own = (each for each in row.when if not each.fact.startswith("alarm "))
        parts += [f"({expression(each)})" for each in own]
        return bool(parsed(" and ".join(parts)).matches(thing))

    cutting_in = (row for row in rows if rows[row] and hits(row, UNSEEN))
    as_written = (row for row in rows if hits(row, STANDING))
    return next((row.name for row in (*cutting_in, *as_written)), "otherwise")


@pytest.mark.parametrize("first", range(0, 320, 20))
def test_a_general_rule_engine_lets_the_same_alarm_cut_in(first: int) -> None:
    """2560 tables and situations with everything known, alarms and times of day among it."""
    for seed in range(first, first + 20):
        rng = random.Random(f"alarms {seed}")
        table, rows = with_alarms_and_times(rng, table_of(rng, 8))
        tried = 0
        while tried < 8:
            facts = situation_of(rng)
            if any(_is_not_whole(value) for value in facts.values()):
                continue
            tried += 1
            facts |= {f"alarm {name}": rng.choice((*STANDING, *QUIET)) for name in ALARMS}
            facts["local-time"] = rng.choice(INSTANTS)
            offered = frozenset(facts)
            decided = decide(table, facts, offered).row.name
            assert decided == first_of_expanded(rows, facts), (seed, facts)
