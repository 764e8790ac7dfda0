"""First hit, read row by row and condition by condition: what the compiled columns are held to."""

from __future__ import annotations

from collections.abc import Set as AbstractSet

from bridge.facts.truth import Truth, all_of
from bridge.facts.values import Facts
from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.decision import ALWAYS_OFFERED
from bridge.rules.table import Row, Table


def interpret(table: Table, facts: Facts, offered: AbstractSet[str]) -> Row:
    """The first true row; none that reassures below one that an offered fact leaves unknown."""
    unsure = False
    for row in table.rows:
        truth = all_of(condition.test(facts) for condition in row.when)
        if truth is Truth.TRUE and not (unsure and row.says in COMFORTABLE):
            return row
        unsure = unsure or (truth is Truth.UNKNOWN and _is_offered(row, facts, offered))
    return table.otherwise


def _is_offered(row: Row, facts: Facts, offered: AbstractSet[str]) -> bool:
    unknown = {each.fact for each in row.when if each.test(facts) is Truth.UNKNOWN}
    return not unknown.isdisjoint(offered | ALWAYS_OFFERED)
