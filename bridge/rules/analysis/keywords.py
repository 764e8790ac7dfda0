"""Reasons that a reader gives and no row is about, and reasons of a row that no reader gives."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bridge.facts.values import Severity
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.offers import Offer
from bridge.rules.analysis.space import Space
from bridge.rules.conditions import ReasonsHave
from bridge.rules.table import Table


def not_named(space: Space) -> Iterator[TableFinding]:
    """Warnings and errors of the reader that no row wants, by name or by severity.

    A row that only refuses a reason shows nothing of it.
    """
    forgotten = [
        reason
        for reason in space.all_reasons
        if reason.severity.value >= Severity.WARNING.value
        and not any(clause.hit_by(reason) for clause in space.wanted)
    ]
    if forgotten:
        words = ", ".join(sorted(reason.said for reason in forgotten))
        row = space.table.otherwise
        yield TableFinding(Kind.REASON_NOT_NAMED, row, offer=space.offer.name, word=words)


def not_sent(table: Table, offers: Sequence[Offer]) -> Iterator[TableFinding]:
    """Keywords that a row waits for in vain."""
    values = [offer.values["reasons"] for offer in offers if "reasons" in offer.values]
    if not offers or any(each.any_reason for each in values):
        return
    given = {reason for each in values for reason in each.reasons}
    for row in table.rows:
        for condition in row.when:
            if not isinstance(condition, ReasonsHave) or condition.how == "none":
                continue
            for keyword in condition.keywords:
                if not any(keyword.matches(reason) for reason in given):
                    yield TableFinding(Kind.REASON_NOT_SENT, row, word=str(keyword))
