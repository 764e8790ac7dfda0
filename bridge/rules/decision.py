"""First hit: which row of a table decides, and why not the ones before it.

The one matcher: the daemon, ``check``, ``explain`` and the page all call ``decide``, which looks
the answer up in the table's ``Compiled``. Why the rows before it did not decide is worked out
condition by condition, and only when somebody asks.
"""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from bridge.facts.truth import Truth
from bridge.facts.values import Facts, Unknown, Why
from bridge.rules.conditions import Condition
from bridge.rules.fact_words import fact_words

if TYPE_CHECKING:
    from bridge.rules.compiled import Compiled
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
        value = fact_words(self.condition.fact, facts.get(self.condition.fact, _NOT_OFFERED))
        return f"{self.condition}: {self.why.value}, {self.condition.fact} is {value}"


class Decision:
    """The row that decides, and on asking why not the ones before it.

    Made for every reading, so it keeps what it was made from instead of copying it: ask before
    the facts of the table's columns change again.
    """

    __slots__ = ("_compiled", "_facts", "_offered", "position")

    def __init__(
        self, compiled: Compiled, position: int, facts: Facts, offered: AbstractSet[str]
    ) -> None:
        self._compiled, self._facts, self._offered = compiled, facts, offered
        #: The row's place in the table from 1, or 0 for ``otherwise``.
        self.position = position

    @property
    def table(self) -> str:
        """The table's name."""
        return self._compiled.table

    @property
    def row(self) -> Row:
        """The row that decides."""
        return self._compiled.by_length[self.position]

    @property
    def passed_over(self) -> tuple[PassedOver, ...]:
        """All rows before it, in order."""
        return _passed_over(self._before, self._facts, self._offered)

    @property
    def _before(self) -> tuple[Row, ...]:
        rows = self._compiled.by_length
        return rows[1 : self.position] if self.position else rows[1:]

    def because(self, facts: Facts) -> str:
        """The reason in words, with the facts as they are."""
        if not self.row.tested:
            return self._why_none(facts) if self._before else "it always does"
        return ", ".join(
            f"{condition} ({fact_words(condition.fact, facts.get(condition.fact, _NOT_OFFERED))})"
            for condition in self.row.tested
        )

    def _why_none(self, facts: Facts) -> str:
        """With what should be known and is not: a page of another shape leaves no other trace."""
        names = dict.fromkeys(
            passed.condition.fact
            for passed in self.passed_over
            if passed.why is Passed.NOT_KNOWN
            and passed.condition is not None
            and _counts(passed.condition, self._offered)
        )
        values = (f"{name} is {fact_words(name, facts.get(name, _NOT_OFFERED))}" for name in names)
        return ", ".join(("no rule fires", *values))


def decide(table: Table, facts: Facts, offered: AbstractSet[str]) -> Decision:
    """The first row that is true.

    A row that would reassure is passed over while a row above it is unknown because of a fact
    that this printer's reader offers: facts that are never offered do not count.
    """
    return table.compiled.decide(facts, offered)


def _passed_over(
    rows: Sequence[Row], facts: Facts, offered: AbstractSet[str]
) -> tuple[PassedOver, ...]:
    """Why none of these rows decided, each with the condition that settles it."""
    passed: list[PassedOver] = []
    unsure: Row | None = None
    for row in rows:
        truth, condition = _judge(row, facts, offered)
        if truth is Truth.TRUE:
            passed.append(PassedOver(row, Passed.UNSURE, unsure=unsure))
        elif truth is Truth.FALSE:
            passed.append(PassedOver(row, Passed.NOT_SO, condition))
        else:
            passed.append(PassedOver(row, Passed.NOT_KNOWN, condition))
            if unsure is None and condition is not None and _counts(condition, offered):
                unsure = row
    return tuple(passed)


def _counts(condition: Condition, offered: AbstractSet[str]) -> bool:
    return condition.fact in offered or condition.fact in ALWAYS_OFFERED


def _judge(row: Row, facts: Facts, offered: AbstractSet[str]) -> tuple[Truth, Condition | None]:
    """A row's truth and the condition that settles it; an unknown that counts is named first."""
    unknown: Condition | None = None
    for condition in row.tested:
        truth = condition.test(facts)
        if truth is Truth.FALSE:
            return Truth.FALSE, condition
        if truth is Truth.UNKNOWN and (unknown is None or not _counts(unknown, offered)):
            unknown = condition
    return (Truth.TRUE, None) if unknown is None else (Truth.UNKNOWN, unknown)
