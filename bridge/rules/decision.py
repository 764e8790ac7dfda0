"""First hit: which row of a table decides, and why not the ones before it.

The one matcher: the daemon, ``check``, ``explain`` and the page all call ``decide``.
"""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from enum import Enum

from bridge.facts.truth import Truth
from bridge.facts.values import Facts, Unknown, Why
from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.conditions import Condition, shown
from bridge.rules.table import Row, Table

#: Known from the hearing itself, whatever the reader offers.
ALWAYS_OFFERED = frozenset({"link", "stale"})
_NOT_OFFERED = Unknown(Why.NOT_OFFERED)


class Passed(Enum):
    """Why a row did not decide."""

    NOT_SO = "is not so"
    NOT_KNOWN = "cannot be known"
    UNSURE = "would reassure while a graver rule above it cannot be judged"


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A row that did not decide, and the condition, or the row above it, that kept it from it."""

    row: Row
    why: Passed
    condition: Condition | None = None
    unsure: Row | None = None

    def because(self, facts: Facts) -> str:
        """The reason in words, with the fact as it is."""
        if self.condition is None:
            above = self.unsure.name if self.unsure else "?"
            return f"{self.why.value} ({above})"
        value = shown(facts.get(self.condition.fact, _NOT_OFFERED))
        return f"{self.condition}: {self.why.value}, {self.condition.fact} is {value}"


@dataclass(frozen=True, slots=True)
class Decision:
    """The row that decides; ``passed_over`` are all before it, in order."""

    table: str
    row: Row
    passed_over: tuple[PassedOver, ...]

    def because(self, facts: Facts) -> str:
        """The reason in words, with the facts as they are."""
        if not self.row.when:
            return "no rule fires" if self.passed_over else "it always does"
        return ", ".join(
            f"{condition} ({shown(facts.get(condition.fact, _NOT_OFFERED))})"
            for condition in self.row.when
        )


def decide(table: Table, facts: Facts, offered: AbstractSet[str]) -> Decision:
    """The first row that is true.

    A row that would reassure is passed over while a row above it is unknown because of a fact
    that this printer's reader offers: facts that are never offered do not count.
    """
    passed: list[PassedOver] = []
    unsure: Row | None = None
    for row in table.rows:
        why, condition = _judge(row, facts, offered)
        if why is Truth.TRUE:
            if unsure is None or row.says not in COMFORTABLE:
                return Decision(table.name, row, tuple(passed))
            passed.append(PassedOver(row, Passed.UNSURE, unsure=unsure))
        elif why is Truth.FALSE:
            passed.append(PassedOver(row, Passed.NOT_SO, condition))
        else:
            passed.append(PassedOver(row, Passed.NOT_KNOWN, condition))
            if unsure is None and condition is not None and _counts(condition, offered):
                unsure = row
    return Decision(table.name, table.otherwise, tuple(passed))


def _counts(condition: Condition, offered: AbstractSet[str]) -> bool:
    return condition.fact in offered or condition.fact in ALWAYS_OFFERED


def _judge(row: Row, facts: Facts, offered: AbstractSet[str]) -> tuple[Truth, Condition | None]:
    """A row's truth and the condition that settles it; an unknown that counts is named first."""
    unknown: Condition | None = None
    for condition in row.when:
        truth = condition.test(facts)
        if truth is Truth.FALSE:
            return Truth.FALSE, condition
        if truth is Truth.UNKNOWN and (unknown is None or not _counts(unknown, offered)):
            unknown = condition
    return (Truth.TRUE, None) if unknown is None else (Truth.UNKNOWN, unknown)
