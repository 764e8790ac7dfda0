"""First hit, and what may not reassure."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue, Reasons, Unknown, Why
from bridge.facts.vocabulary import COMFORTABLE, Says
from bridge.rules.conditions import Condition, NumberIn, SymbolIs, TruthIs
from bridge.rules.decision import Passed, decide
from bridge.rules.table import Row, Source, Table

HERE = Source("rules.yaml", 3, 9)
GONE = Unknown(Why.NOT_FRESH, "page")


def symbol(fact: str, *wanted: str, unknown: bool = False) -> SymbolIs:
    """A condition on one symbol."""
    return SymbolIs(fact, frozenset(wanted), unknown)


def row(name: str, says: Says, *when: Condition) -> Row:
    """A row that shows a scene of its own name."""
    return Row(name, when, name, says, HERE)


HOT = NumberIn("chamber-temperature", Interval(least=60.0), "at least 60 °C")
TABLE = Table(
    "wall",
    (
        row("hot", "trouble", HOT),
        row("silent", "unknown", TruthIs("stale", wanted=True)),
        row("halted", "act", symbol("state", "stopped")),
        row("finished", "notice", symbol("state", "idle"), symbol("job", "completed")),
        row("working", "well", symbol("state", "processing")),
        row("idle", "resting", symbol("state", "idle")),
        row("lost", "unknown", symbol("state", unknown=True)),
    ),
    row("nothing said", "unknown"),
)
OFFERED = frozenset({"state", "job", "link"})
ALL_OFFERED = OFFERED | {"chamber-temperature"}

CASES: list[tuple[str, dict[str, FactValue], frozenset[str], str]] = [
    ("the first true row decides", {"state": "stopped", "job": "completed"}, OFFERED, "halted"),
    ("all of its conditions must be true", {"state": "idle", "job": "aborted"}, OFFERED, "idle"),
    ("and then it hides what is below", {"state": "idle", "job": "completed"}, OFFERED, "finished"),
    ("never offered, it does not count", {"state": "processing", "job": "x"}, OFFERED, "working"),
    ("one that is offered does", {"state": "processing", "job": "x"}, ALL_OFFERED, "nothing said"),
    (
        "known again, it reassures again",
        {"state": "processing", "job": "x", "chamber-temperature": 31.0},
        ALL_OFFERED,
        "working",
    ),
    ("a grave row needs no certainty above", {"state": "stopped"}, ALL_OFFERED, "halted"),
    ("idle is unsure while the job is", {"state": "idle", "job": GONE}, OFFERED, "nothing said"),
    ("a false condition settles a row", {"state": "processing", "job": GONE}, OFFERED, "working"),
    ("the word unknown fires", {"state": GONE, "job": GONE}, OFFERED, "lost"),
    ("stale always counts", {"state": "processing", "stale": GONE}, OFFERED, "nothing said"),
    ("first of two wins", {"state": "stopped", "stale": True}, OFFERED, "silent"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("facts", "offered", "name"), [case[1:] for case in CASES], ids=[case[0] for case in CASES]
)
def test_the_first_hit_decides(
    facts: dict[str, FactValue], offered: frozenset[str], name: str
) -> None:
    """Rows in order, true ones only, and no comfort while something graver cannot be judged."""
    assert decide(TABLE, {"stale": False, "link": "up", **facts}, offered).row.name == name


def test_every_row_before_is_accounted_for() -> None:
    """Explain shows each earlier row with the condition that kept it from deciding."""
    facts: dict[str, FactValue] = {
        "stale": False,
        "state": "processing",
        "job": GONE,
        "chamber-temperature": GONE,
    }
    decision = decide(TABLE, facts, ALL_OFFERED)
    assert [(p.row.name, p.why) for p in decision.passed_over] == [
        ("hot", Passed.NOT_KNOWN),
        ("silent", Passed.NOT_SO),
        ("halted", Passed.NOT_SO),
        ("finished", Passed.NOT_SO),
        ("working", Passed.UNSURE),
        ("idle", Passed.NOT_SO),
        ("lost", Passed.NOT_SO),
    ]
    because = [passed.because(facts) for passed in decision.passed_over]
    assert because[0] == (
        "chamber-temperature at least 60 °C: cannot be known, "
        "chamber-temperature is unknown (not heard for too long: page)"
    )
    assert because[1] == "stale is true: is not so, stale is false"
    assert because[4] == "would reassure while a graver rule above it cannot be judged (hot)"


def test_the_deciding_row_says_why() -> None:
    """Its conditions with the facts as they are, or that none fired."""
    facts: dict[str, FactValue] = {"state": "idle", "job": "completed", "stale": False}
    assert decide(TABLE, facts, OFFERED).because(facts) == (
        "state is idle (idle), job is completed (completed)"
    )
    empty = Table("bare", (), row("always", "unknown"))
    assert decide(empty, {}, OFFERED).because({}) == "it always does"
    assert decide(TABLE, {"stale": False, "state": "x"}, OFFERED).because({}) == "no rule fires"


def test_where_no_row_fires_what_is_not_known_is_named() -> None:
    """Each fact once, and none that this reader never offers: that is no news."""
    facts: dict[str, FactValue] = {"stale": False, "state": GONE, "job": GONE}
    table = Table("wall", TABLE.rows[:-1], TABLE.otherwise)
    assert decide(table, facts, OFFERED).because(facts) == (
        "no rule fires, state is unknown (not heard for too long: page)"
    )


def test_the_first_row_that_cannot_be_judged_is_named() -> None:
    """It is the one that would have decided first."""
    facts: dict[str, FactValue] = {"stale": GONE, "state": "processing"}
    decision = decide(TABLE, {**facts, "chamber-temperature": GONE}, ALL_OFFERED)
    unsure = [passed.unsure for passed in decision.passed_over if passed.unsure]
    assert [row.name for row in unsure] == ["hot"]


def test_an_unknown_that_counts_is_named_before_one_that_does_not() -> None:
    """A row unknown for two reasons is unsure for the one that this printer could still tell."""
    table = Table(
        "wall",
        (row("hot job", "trouble", HOT, symbol("job", "aborted")), row("fine", "well")),
        row("nothing said", "unknown"),
    )
    decision = decide(table, {"job": GONE}, frozenset({"job"}))
    assert decision.row.name == "nothing said"
    assert decision.passed_over[0].condition == symbol("job", "aborted")


FACT_VALUES: dict[str, list[FactValue]] = {
    "state": ["idle", "processing", "stopped", GONE],
    "job": ["completed", "aborted", GONE],
    "stale": [True, False],
    "chamber-temperature": [20.0, 80.0, GONE],
    "reasons": [Reasons(()), GONE],
}
situations = st.fixed_dictionaries(
    {name: st.sampled_from(values) for name, values in FACT_VALUES.items()}
)
OFTEN_WRITTEN: list[Condition] = [
    HOT,
    TruthIs("stale", wanted=True),
    symbol("state", "idle"),
    symbol("state", "processing"),
    symbol("state", "stopped", unknown=True),
    symbol("job", "completed"),
]
tables = st.lists(
    st.tuples(
        st.sampled_from(get_args(Says)),
        st.lists(st.sampled_from(OFTEN_WRITTEN), min_size=1, max_size=2),
    ),
    max_size=6,
).map(
    lambda rows: Table(
        "wall",
        tuple(row(str(number), says, *when) for number, (says, when) in enumerate(rows)),
        row("nothing said", "unknown"),
    )
)


@given(tables, situations, st.sampled_from(sorted(FACT_VALUES)))
def test_not_knowing_one_fact_more_never_makes_a_light_comfortable(
    table: Table, situation: dict[str, FactValue], fact: str
) -> None:
    """Where a fact is lost, a comfortable row is shown only if it was shown with it."""
    offered = frozenset(FACT_VALUES)
    if fact == "stale":
        return  # always known
    if any(
        isinstance(condition, SymbolIs) and condition.unknown and condition.fact == fact
        for each in table.rows
        for condition in each.when
    ):
        return  # whoever wrote the word has asked for just that
    before = decide(table, situation, offered)
    after = decide(table, {**situation, fact: GONE}, offered)
    if after.row.says in COMFORTABLE:
        assert after.row is before.row
