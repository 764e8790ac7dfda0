"""Conditions on reasons as clauses: something of each must hold, and nothing of what is refused.

``any`` is one clause, ``all`` a clause for each keyword, a least severity one clause, and ``none``
refuses. The masks and the analysis both start from this.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeAlias

from bridge.facts.values import Reason, Severity
from bridge.rules.conditions import Keyword, ReasonsHave, SeverityAtLeast

ReasonTest: TypeAlias = ReasonsHave | SeverityAtLeast


@dataclass(frozen=True, slots=True)
class Clause:
    """One of these keywords, or any reason that is at least this severe."""

    keywords: tuple[Keyword, ...] = ()
    severity: Severity | None = None

    def hit_by(self, reason: Reason) -> bool:
        """Whether this reason is one that the clause speaks of."""
        if self.severity is not None and reason.severity.value >= self.severity.value:
            return True
        return any(keyword.matches(reason) for keyword in self.keywords)


@dataclass(frozen=True, slots=True)
class Needs:
    """What all tests of a row together ask of the reasons.

    ``refused`` is ``None`` where nothing is refused: such a row can be true before every reason
    is known, another cannot.
    """

    clauses: tuple[Clause, ...]
    refused: Clause | None = None


def needs_of(tests: Iterable[ReasonTest]) -> Needs:
    """The clauses of a row's tests, in the order in which they are written."""
    clauses: list[Clause] = []
    refused: list[Keyword] | None = None
    for test in tests:
        if isinstance(test, SeverityAtLeast):
            clauses.append(Clause(severity=test.severity))
        elif test.how == "any":
            clauses.append(Clause(test.keywords))
        elif test.how == "all":
            clauses.extend(Clause((keyword,)) for keyword in test.keywords)
        else:
            refused = [*(refused or ()), *test.keywords]
    return Needs(tuple(clauses), None if refused is None else Clause(tuple(refused)))
