"""Reasons that a reader gives and no row is about, and reasons of a row that no reader gives."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from bridge.facts.values import Reason, Severity
from bridge.facts.vocabulary import BRIDGE_PREFIX
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.offers import Offer, reasons_offered
from bridge.rules.analysis.space import Space
from bridge.rules.conditions import Condition, Keyword, ReasonsHave, SeverityAtLeast
from bridge.rules.table import Table


def not_named(space: Space, named: Sequence[Condition] = ()) -> Iterator[TableFinding]:
    """Warnings and errors of the reader that neither a row nor ``named`` wants.

    By name or by severity; whoever only refuses a reason shows nothing of it.
    """
    wanting = [each for each in _wanting(space.table, named) if _wants(each)]
    words = {keyword.keyword for keyword in _keywords(wanting)}
    forgotten = [
        reason
        for reason in reasons_offered(space.offer, words)
        if reason.severity.value >= Severity.WARNING.value
        and not any(_is_about(condition, reason) for condition in wanting)
    ]
    own = [each for each in forgotten if each.keyword.startswith(BRIDGE_PREFIX)]
    heard = [each for each in forgotten if not each.keyword.startswith(BRIDGE_PREFIX)]
    for kind, reasons in ((Kind.REASON_NOT_NAMED, heard), (Kind.OWN_REASON_NOT_NAMED, own)):
        if reasons:
            said = ", ".join(sorted(reason.said for reason in reasons))
            offer = "" if reasons is own else space.offer.name
            yield TableFinding(kind, space.table.otherwise, offer=offer, word=said)


def not_sent(table: Table, offers: Sequence[Offer]) -> Iterator[TableFinding]:
    """Keywords that a row waits for in vain."""
    for row in table.rows:
        for keyword in never_sent(row.when, offers):
            yield TableFinding(Kind.REASON_NOT_SENT, row, word=str(keyword))


def never_sent(when: Iterable[Condition], offers: Sequence[Offer]) -> Iterator[Keyword]:
    """The keywords that these conditions wait for, and that no offer has."""
    values = [offer.values["reasons"] for offer in offers if "reasons" in offer.values]
    if not offers or any(each.any_reason for each in values):
        return
    given = {reason for each in values for reason in each.reasons}
    for keyword in _keywords(filter(_wants, when)):
        if not any(keyword.matches(reason) for reason in given):
            yield keyword


def _wanting(table: Table, named: Iterable[Condition]) -> Iterator[Condition]:
    for row in table.rows:
        yield from row.when
    yield from named


def _wants(condition: Condition) -> bool:
    return isinstance(condition, SeverityAtLeast) or (
        isinstance(condition, ReasonsHave) and condition.how != "none"
    )


def _keywords(conditions: Iterable[Condition]) -> Iterator[Keyword]:
    for condition in conditions:
        if isinstance(condition, ReasonsHave):
            yield from condition.keywords


def _is_about(condition: Condition, reason: Reason) -> bool:
    if isinstance(condition, SeverityAtLeast):
        return reason.severity.value >= condition.severity.value
    return isinstance(condition, ReasonsHave) and any(
        keyword.matches(reason) for keyword in condition.keywords
    )
