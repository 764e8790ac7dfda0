"""Group ``decisions``: decisions against other engines, the analysis of tables against z3.

Published times for overlaps and missing rules, in ms for about 500, 1000 and 1500 rules (Calvanese
et al., *Semantics and analysis of DMN decision tables*, BPM 2016 and Information Systems 78, 2018;
JavaScript on one core of a 2.2 GHz i5; tables grown from decision trees, 10 % of the rows enlarged
or shrunk, as ``changed`` here): 7 columns 1374, 2069, 13405 and 2173, 7029, 18263; 9 columns 1100,
4935, 30554 and 529, 6557, 17649. Ours has 8 columns.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable
from functools import partial
from timeit import timeit

from bridge.facts.values import FactValue
from bridge.rules.analysis import analyse
from bridge.rules.analysis.boxes import Budget, UndecidedError
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.relations import Relations
from bridge.rules.analysis.space import Space
from bridge.rules.table import Row, Table
from tests.benchmarks.engines import (
    Decide,
    closures,
    datalogic,
    rule_engine_rules,
    simpleeval_rules,
    zen_table,
)
from tests.benchmarks.made_tables import FACTS, KINDS, OFFER, scattered, situation
from tests.benchmarks.result import Result, paired
from tests.benchmarks.tables_in_z3 import Prover

#: The kinds that people could have written; rows by pure chance are for decisions only.
TANGLED = ("grown", "changed", "layered")
OFFERED = frozenset(FACTS)
STEPS = 1_000_000


def measure(quick: bool) -> list[Result]:
    """All figures of the group."""
    repeats = 3 if quick else 9
    return [
        *_decisions(repeats, 0.02 if quick else 0.2),
        _overlaps(100 if quick else 500, sample=20 if quick else 300),
        _masked(100 if quick else 500),
        _complete(200 if quick else 1500),
        _whole("check-100-seconds", 100, repeats, 0.01),
        _whole("check-1500-seconds", 300 if quick else 1500, 1 if quick else 3, 1.0),
    ]


def _decisions(repeats: int, seconds: float) -> list[Result]:
    table, facts = worst_case(100)
    ours = _ours(table, facts)
    rows: list[tuple[str, Callable[[Table, dict[str, FactValue]], Decide], float]] = [
        ("decide-100-vs-closures", closures, 0.1),
        ("decide-100-vs-datalogic", datalogic, 1.0),
        ("decide-100-vs-zen-engine", zen_table, 0.01),
        ("decide-100-vs-rule-engine", rule_engine_rules, 0.01),
        ("decide-100-vs-simpleeval", simpleeval_rules, 0.05),
    ]
    results = []
    for name, engine, goal in rows:
        theirs = engine(table, facts)
        check_same(engine)
        pairs = [(_each(ours, seconds), _each(theirs, seconds)) for _ in range(repeats)]
        results.append(paired(name, "µs", name.partition("-vs-")[2], pairs, goal))
    small, large = _ours(*worst_case(10)), _ours(*worst_case(1000))
    pairs = [(_each(large, seconds), _each(small, seconds)) for _ in range(repeats)]
    results.append(paired("decide-1000-vs-10", "µs", "10 rows", pairs, 1.5))
    return results


def worst_case(rows: int) -> tuple[Table, dict[str, FactValue]]:
    """A table and a situation that none of its rows is for: every row is looked at."""
    rng = random.Random(rows)
    facts = situation(rng)
    kept = [row for row in scattered(rng, rows * 2).rows if closures(_table([row]), facts)() == -1]
    return _table(kept[:rows]), facts


def _table(rows: list[Row]) -> Table:
    return Table("made", tuple(rows), scattered(random.Random(0), 0).otherwise)


def _ours(table: Table, facts: dict[str, FactValue]) -> Callable[[], object]:
    return partial(table.compiled.decide, facts, OFFERED)


def check_same(engine: Callable[[Table, dict[str, FactValue]], Decide]) -> None:
    """What is measured against ours must answer as ours does; raises where it does not."""
    rng = random.Random(3)
    table = scattered(rng, 30)
    for _ in range(40):
        facts = situation(rng)
        ours = table.compiled.decide(facts, OFFERED).position - 1
        theirs = engine(table, facts)()
        if theirs != ours:
            raise ValueError(f"{engine.__name__} hits row {theirs}, ours {ours}, in {facts}")


def _each(decide: Callable[[], object], seconds: float) -> float:
    """Microseconds for one decision, the least of some rounds within the time."""
    number = max(1, int(seconds / 5 / max(timeit(decide, number=1), 1e-7)))
    number = max(1, int(number * seconds / 5 / max(timeit(decide, number=number), 1e-7)))
    return min(timeit(decide, number=number) for _ in range(5)) / number * 1e6


def _overlaps(rows: int, sample: int) -> Result:
    """All pairs by masks; z3 on a seeded sample of pairs, multiplied up to all.

    Here and below neither side's clock counts reading the table into boxes or formulas.
    """
    pairs = []
    for kind in TANGLED:
        table = KINDS[kind](random.Random(1), rows)
        space = Space(table, OFFER)
        began = time.perf_counter()
        relations = Relations(space.frame, space.places, rows)
        crossing = [relations.crossing(number) for number in range(rows)]
        seconds = time.perf_counter() - began
        theirs, extrapolated = Prover(table).crossing(random.Random(2), sample)
        for (one, other), crosses in theirs.items():
            if crosses != bool(crossing[one] >> other & 1):
                raise ValueError(f"{kind}: z3 says otherwise of rows {one} and {other}")
        pairs.append((seconds * 1000, extrapolated * 1000))
    against = f"z3, {sample} pairs extrapolated, {', '.join(TANGLED)}"
    return paired(f"analyse-overlap-{rows}-vs-z3", "ms", against, pairs, 0.001)


def _masked(rows: int) -> Result:
    pairs = []
    for kind in TANGLED:
        table = KINDS[kind](random.Random(1), rows)
        space = Space(table, OFFER)
        began = time.perf_counter()
        deciding = Deciding(space, Budget(STEPS, STEPS * rows))
        ours = [p.number for p in deciding.space.places if deciding.situation(p) is None]
        seconds = time.perf_counter() - began
        theirs, their_seconds = Prover(table).masked()
        if ours != theirs:
            raise ValueError(f"{kind}: masked are {ours}, and z3 says {theirs}")
        pairs.append((seconds * 1000, their_seconds * 1000))
    against = f"z3, {', '.join(TANGLED)}"
    return paired(f"analyse-masked-{rows}-vs-z3", "ms", against, pairs, 0.33)


def _complete(rows: int) -> Result:
    """The verdict alone on both sides; what is given up within the budget is named."""
    pairs, given_up = [], []
    for kind in TANGLED:
        table = KINDS[kind](random.Random(1), rows)
        deciding = Deciding(Space(table, OFFER), Budget(40_000))
        theirs, their_seconds = Prover(table).has_gap()
        began = time.perf_counter()
        try:
            if (deciding.gap() is not None) != theirs:
                raise ValueError(f"{kind}: z3 says otherwise of gaps")
        except UndecidedError:
            given_up.append(kind)
        pairs.append(((time.perf_counter() - began) * 1000, their_seconds * 1000))
    not_decided = f", not decided: {', '.join(given_up)}" if given_up else ""
    against = f"z3, {', '.join(TANGLED)}{not_decided}"
    return paired(f"analyse-complete-{rows}-vs-z3", "ms", against, pairs, 2.0)


def _whole(name: str, rows: int, repeats: int, goal: float) -> Result:
    """Everything that check does with a table, the median over the kinds."""
    seconds = []
    for kind in TANGLED:
        table = KINDS[kind](random.Random(1), rows)
        times = []
        for _ in range(repeats):
            began = time.perf_counter()
            analyse(table, [OFFER])
            times.append(time.perf_counter() - began)
        seconds.append(statistics.median(times))
    return Result(
        name=name,
        value=statistics.median(seconds),
        unit="s",
        against=", ".join(TANGLED),
        ratio=None,
        spread=(min(seconds), max(seconds)),
        goal=goal,
    )
