"""Rows, tables and questions for the tests of the analysis."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue, Severity
from bridge.facts.vocabulary import Says
from bridge.rules.analysis.axes import Axis
from bridge.rules.analysis.boxes import Budget, Point
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.offers import Offer, any_offer
from bridge.rules.analysis.space import Space
from bridge.rules.conditions import (
    LOCAL_TIME,
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TimeOfDay,
    TruthIs,
)
from bridge.rules.table import Row, Table, alarm_stands, lasting_for, prompt_stands
from tests.rules.made_up import FACTS, HERE, table_of

SILENT: Final = TruthIs("stale", wanted=True)
FRESH: Final = TruthIs("stale", wanted=False)
ERROR: Final = SeverityAtLeast(Severity.ERROR)
LOST: Final = SymbolIs("state", frozenset(), unknown=True)


def state(*words: str, unknown: bool = False, negated: bool = False) -> SymbolIs:
    """The state is one of these."""
    return SymbolIs("state", frozenset(words), unknown, negated)


def job(*words: str) -> SymbolIs:
    """The job is one of these."""
    return SymbolIs("job", frozenset(words))


def progress(least: float | None = None, below: float | None = None) -> NumberIn:
    """From ``least`` on and below the other."""
    return NumberIn("progress", Interval(least, below, most_included=False), f"{least} to {below}")


def reasons(how: str, *words: str) -> ReasonsHave:
    """Any, all or none of these keywords; ``door-open=error`` names a severity."""
    return ReasonsHave(how, tuple(map(_keyword, words)))


def _keyword(word: str) -> Keyword:
    keyword, _, severity = word.partition("=")
    return Keyword(keyword, Severity[severity.upper()] if severity else None)


def row(name: str, says: Says, *when: Condition, show: str = "") -> Row:
    """A row; its scene bears its own name where no other is given."""
    return Row(name, when, show or name, says, HERE)


def table(*rows: Row, otherwise: Says = "unknown") -> Table:
    """A table of these rows."""
    return Table("wall", rows, Row("otherwise", (), "not-known", otherwise, HERE))


def asking(made: Table, offer: Offer | None = None, steps: int = 100_000) -> Deciding:
    """The questions about a table, for a reader that offers all that it tests."""
    facts = [condition.fact for each in made.rows for condition in each.when]
    return Deciding(Space(made, offer or any_offer(facts)), Budget(steps, steps * 1000))


def made_tables(seeds: Iterable[int]) -> Iterator[tuple[random.Random, Deciding]]:
    """Tables by chance, each for a reader that offers some of its facts, and its chance."""
    for seed in seeds:
        rng = random.Random(seed)
        facts = FACTS if seed % 2 else ("state", "reasons", "stale")
        made = table_of(rng, rng.choice((3, 6, 10)), facts)
        offered = rng.sample(FACTS, rng.randint(1, len(FACTS)))
        yield rng, asking(made, any_offer(offered))


def alarmed(rng: random.Random, made: Table) -> Table:
    """The same table, with alarms, a prompt, times of day and rows that must last among it."""
    return replace(made, rows=tuple(_alarmed(rng, made.name, each) for each in made.rows))


def _alarmed(rng: random.Random, name: str, row: Row) -> Row:
    match rng.randrange(8):
        case 0 | 1:
            when = (alarm_stands(rng.choice(("jam", "empty"))), *row.when[: rng.randrange(2)])
            return replace(row, when=when)
        case 2:
            return replace(row, when=(*row.when, prompt_stands("collect")))
        case 3:
            begin, before = rng.sample((0.0, 21_600.0, 43_200.0, 79_200.0), 2)
            return replace(row, when=(*row.when, TimeOfDay(begin, before, f"{begin} {before}")))
        case 4:
            return replace(row, lasting=lasting_for(name, row.name, 1000, "1s"))
        case _:
            return row


RAISED: Final = ("alarm jam", "alarm empty", "prompt collect", LOCAL_TIME)


def alarmed_tables(seeds: Iterable[int]) -> Iterator[tuple[random.Random, Deciding]]:
    """Tables by chance with all of that, for readers by chance."""
    for seed in seeds:
        rng = random.Random(seed)
        made = alarmed(rng, table_of(rng, rng.choice((3, 6, 9))))
        offered = rng.sample((*FACTS, *RAISED), rng.randint(3, len(FACTS) + 3))
        yield rng, asking(made, any_offer(offered))


def any_point(rng: random.Random, space: Space, *, known: bool = False) -> Point:
    """A situation by chance."""
    atoms = tuple(rng.randrange(_count(axis, known=known)) for axis in space.axes)
    return Point(atoms, rng.getrandbits(len(space.reasons)) if space.reasons else 0)


def _count(axis: Axis, *, known: bool) -> int:
    return len(axis.values) - (known and axis.unknown > 0)


def situation(deciding: Deciding, point: Point | None) -> dict[str, FactValue]:
    """The facts of a point that must be there."""
    if point is None:
        raise AssertionError("nothing was found")
    return deciding.space.situation(point)
