"""Tables, situations and readers by chance, with every kind of condition in them."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Final, get_args

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue, Reason, Reasons, Severity, Unknown, Why
from bridge.facts.vocabulary import Says
from bridge.rules.conditions import (
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TruthIs,
)
from bridge.rules.table import Row, Source, Table

HERE: Final = Source("rules.yaml", 3, 9)
GONE: Final = Unknown(Why.NOT_FRESH, "page")
SAYS: Final[tuple[Says, ...]] = get_args(Says)

SYMBOLS: Final = {
    "state": ("idle", "processing", "stopped"),
    "job": ("processing", "completed", "aborted", "canceled"),
    "site-shift": ("early", "late"),
}
#: Ends of intervals, and values between, at and beyond them.
NUMBERS: Final = {
    "progress": (0.25, 0.5, 0.75),
    "chamber-temperature": (30.0, 45.0, 60.0),
}
KEYWORDS: Final = ("material-empty", "door-open", "extruder-jam", "fan-failure")
SEVERITIES: Final = (Severity.REPORT, Severity.WARNING, Severity.ERROR)
REASONS: Final = tuple(
    Reason(keyword, severity, f"{keyword}-{severity.name.lower()}")
    for keyword in KEYWORDS
    for severity in SEVERITIES
)
FACTS: Final = ("link", "stale", "reasons", *SYMBOLS, *NUMBERS)


def symbol_test(rng: random.Random, fact: str, words: Sequence[str]) -> SymbolIs:
    """Some of the words, now and then negated or with the word ``unknown``."""
    wanted = frozenset(rng.sample(words, rng.randint(1, len(words) - 1)))
    unknown = rng.random() < 0.15
    if unknown and rng.random() < 0.4:
        wanted = frozenset()
    return SymbolIs(fact, wanted, unknown, rng.random() < 0.25)


def number_test(rng: random.Random, fact: str, ends: Sequence[float]) -> NumberIn:
    """An interval of any sort that holds something."""
    least, most = sorted(rng.choices(ends, k=2))
    if least == most or rng.random() < 0.4:
        side = rng.random() < 0.5
        interval = Interval(
            least if side else None,
            None if side else most,
            rng.random() < 0.5,
            rng.random() < 0.5,
        )
    else:
        interval = Interval(least, most, rng.random() < 0.5, rng.random() < 0.5)
    return NumberIn(fact, interval, str(interval))


def reasons_test(rng: random.Random) -> Condition:
    """Any, all or none of some keywords, or a least severity."""
    if rng.random() < 0.2:
        return SeverityAtLeast(rng.choice(SEVERITIES))
    keywords = tuple(
        Keyword(keyword, rng.choice((None, None, *SEVERITIES)))
        for keyword in rng.sample(KEYWORDS, rng.randint(1, 2))
    )
    return ReasonsHave(rng.choice(("any", "any", "all", "none")), keywords)


def condition_on(rng: random.Random, fact: str) -> Condition:
    """A test that suits the fact."""
    if fact == "reasons":
        return reasons_test(rng)
    if fact == "stale":
        return TruthIs("stale", rng.random() < 0.7)
    if fact in NUMBERS:
        if rng.random() < 0.1:
            return SymbolIs(fact, frozenset(), unknown=True, negated=rng.random() < 0.5)
        return number_test(rng, fact, NUMBERS[fact])
    return symbol_test(rng, fact, SYMBOLS.get(fact, ("up", "down")))


def table_of(rng: random.Random, rows: int, facts: Sequence[str] = FACTS) -> Table:
    """A table with one to three conditions a row; now and then two on one fact."""
    made = []
    for number in range(rows):
        chosen = rng.sample(facts, min(len(facts), rng.choice((1, 1, 2, 2, 3))))
        if rng.random() < 0.15:
            chosen.append(rng.choice(chosen))
        when = tuple(condition_on(rng, fact) for fact in chosen)
        says = rng.choice(SAYS)
        made.append(Row(f"rule {number}", when, f"{says} {rng.randint(1, 2)}", says, HERE))
    return Table("wall", tuple(made), Row("otherwise", (), "not-known", "unknown", HERE))


def situation_of(rng: random.Random, offered: Sequence[str] = FACTS) -> dict[str, FactValue]:
    """A value for each offered fact, in and beside what the tables test; some are unknown."""
    facts: dict[str, FactValue] = {"stale": rng.random() < 0.3}
    for fact in ("link", *offered):
        facts[fact] = _value_of(rng, fact)
    return facts


def _value_of(rng: random.Random, fact: str) -> FactValue:
    if fact == "stale":
        return rng.random() < 0.3
    if rng.random() < 0.2:
        return GONE
    if fact == "reasons":
        known = tuple(sorted(rng.sample(REASONS, rng.choice((0, 0, 1, 2, 3)))))
        return Reasons(known, GONE if rng.random() < 0.25 else None)
    if fact in NUMBERS:
        ends = NUMBERS[fact]
        return rng.choice(
            (
                *ends,
                *((low + high) / 2 for low, high in zip((-1.0, *ends), (*ends, 99.0), strict=True)),
            )
        )
    return rng.choice((*SYMBOLS.get(fact, ("up", "down")), "something-else"))
