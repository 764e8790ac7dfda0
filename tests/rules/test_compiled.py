"""The compiled columns answer as the rows read one by one."""

from __future__ import annotations

import random

import pytest

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue, Reasons
from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.conditions import NumberIn, SymbolIs
from bridge.rules.decision import decide
from bridge.rules.table import Row, Table
from tests.rules.interpreter import interpret
from tests.rules.made_up import FACTS, HERE, NUMBERS, SYMBOLS, situation_of, table_of


@pytest.mark.parametrize("seed", range(300))
def test_columns_decide_as_the_rows_read_in_order(seed: int) -> None:
    """Every kind of condition, known and unknown, offered and not: the same row."""
    rng = random.Random(seed)
    table = table_of(rng, rng.choice((0, 1, 5, 40)))
    for _ in range(30):
        offered = frozenset(rng.sample(FACTS, rng.randint(0, len(FACTS))))
        facts = situation_of(rng, [fact for fact in FACTS if rng.random() < 0.85])
        assert decide(table, facts, offered).row is interpret(table, facts, offered)


STRANGE: list[FactValue] = [True, False, "idle", "", 0.5, 45.0, 45, 0, 1, Reasons(())]


@pytest.mark.parametrize("seed", range(40))
def test_a_value_of_another_kind_reads_as_the_truth_table_says(seed: int) -> None:
    """A word where a number is tested, a truth where a word is: site facts can be any of them."""
    rng = random.Random(seed)
    table = table_of(rng, 20, ("stale", *SYMBOLS, *NUMBERS))
    for _ in range(30):
        facts = {fact: rng.choice(STRANGE) for fact in FACTS if fact != "reasons"}
        assert decide(table, facts, frozenset(FACTS)).row is interpret(
            table, facts, frozenset(FACTS)
        )


@pytest.mark.parametrize("seed", range(60))
def test_the_rows_judged_are_the_rows_that_decide(seed: int) -> None:
    """The masks that the analysis reads lead to the same row as the quick way."""
    rng = random.Random(seed)
    table = table_of(rng, 12)
    for _ in range(20):
        facts, offered = situation_of(rng), frozenset(FACTS)
        true, unsure = table.compiled.judged(facts, offered)
        rows = [
            row
            for number, row in enumerate(table.rows)
            if true >> number & 1 and not (row.says in COMFORTABLE and unsure & ((1 << number) - 1))
        ]
        assert decide(table, facts, offered).row is (rows[0] if rows else table.otherwise)


def number_row(name: str, interval: Interval) -> Row:
    """A row on one number."""
    return Row(name, (NumberIn("layer", interval, ""),), name, "notice", HERE)


CUTS = Table(
    "wall",
    (
        number_row("from 10", Interval(least=10.0)),
        number_row("above 3, to 5", Interval(3.0, 5.0, least_included=False)),
        number_row("below 2", Interval(most=2.0, most_included=False)),
        Row("lost", (SymbolIs("layer", frozenset(), unknown=True),), "lost", "unknown", HERE),
    ),
    Row("otherwise", (), "not-known", "unknown", HERE),
)


@pytest.mark.parametrize(
    ("value", "name"),
    [
        (1.999, "below 2"),
        (2.0, "otherwise"),
        (3.0, "otherwise"),
        (3.001, "above 3, to 5"),
        (5.0, "above 3, to 5"),
        (5.001, "otherwise"),
        (10.0, "from 10"),
        (1e9, "from 10"),
    ],
)
def test_each_end_belongs_to_its_own_side(value: float, name: str) -> None:
    """Included ends are in, excluded ones out, on either side."""
    assert decide(CUTS, {"layer": value}, frozenset()).row.name == name


def test_why_not_is_told_of_the_rows_before_only() -> None:
    """Each row above the one that decides, and every row where none does."""
    decided = decide(CUTS, {"layer": 4.0}, frozenset())
    assert [each.row.name for each in decided.passed_over] == ["from 10"]
    assert decided.table == "wall"
    nothing = decide(CUTS, {"layer": 7.0}, frozenset())
    assert [each.row.name for each in nothing.passed_over] == [row.name for row in CUTS.rows]
