"""Reasons that are forgotten, and reasons that nobody sends."""

from __future__ import annotations

import pytest

from bridge.facts.reasons import parse_reason
from bridge.facts.values import Severity
from bridge.rules.analysis.finding import Kind
from bridge.rules.analysis.keywords import not_named, not_sent
from bridge.rules.analysis.offers import Offer, Values
from bridge.rules.conditions import Condition, SeverityAtLeast
from bridge.rules.table import alarm_stands
from tests.rules.analysis.building import ERROR, asking, reasons, row, state, table


def reader(*words: str) -> Offer:
    """A reader that can give these reasons, or without any every registered one."""
    given = Values(reasons=frozenset(map(parse_reason, words)), any_reason=not words)
    return Offer("plain", {"state": Values(("idle",)), "reasons": given})


ANY_DOOR = reasons("any", "door-open")
NAMED: dict[str, tuple[Condition, Offer, list[str]]] = {
    "named": (ANY_DOOR, reader("door-open-error"), []),
    "at another severity": (
        reasons("any", "door-open=error"),
        reader("door-open-warning"),
        ["door-open-warning"],
    ),
    "refused only": (reasons("none", "door-open"), reader("fan-failure"), ["fan-failure"]),
    "by its severity": (ERROR, reader("fan-failure"), []),
    "a warning is milder": (ERROR, reader("material-low"), ["material-low"]),
    "a report need not be": (ANY_DOOR, reader("identify-printer-requested"), []),
    "several": (
        ANY_DOOR,
        reader("material-low", "extruder-jam-error"),
        ["extruder-jam-error, material-low"],
    ),
}


@pytest.mark.parametrize(("when", "offer", "words"), NAMED.values(), ids=NAMED.keys())
def test_a_warning_or_an_error_that_no_row_is_about(
    when: Condition, offer: Offer, words: list[str]
) -> None:
    """By name or by severity; what is only refused is not shown."""
    space = asking(table(row("a", "act", when)), offer).space
    assert [each.word for each in not_named(space)] == words


def test_a_reader_that_passes_on_everything_shows_what_is_forgotten_by_one_of_each() -> None:
    """A least severity is the only way to be about all of them."""
    open_ = asking(table(row("a", "act", ERROR)), reader()).space
    (found,) = not_named(open_)
    assert found.word.endswith("-warning")
    warned = SeverityAtLeast(Severity.WARNING)
    whole = asking(table(row("a", "act", ERROR), row("b", "notice", warned)), reader()).space
    assert list(not_named(whole)) == []


SENT: dict[str, tuple[Condition, list[Offer], list[str]]] = {
    "sent": (ANY_DOOR, [reader("door-open-error")], []),
    "by one of two": (ANY_DOOR, [reader("fan-failure"), reader("door-open-error")], []),
    "at another severity only": (
        reasons("any", "door-open=error"),
        [reader("door-open-warning")],
        ["door-open-error"],
    ),
    "by nobody": (reasons("all", "door-open"), [reader("fan-failure")], ["door-open"]),
    "what is refused need not be": (reasons("none", "door-open"), [reader("fan-failure")], []),
    "a reader that passes on everything": (ANY_DOOR, [reader("fan-failure"), reader()], []),
    "no reader yet": (ANY_DOOR, [], []),
    "other facts": (state("idle"), [reader("fan-failure")], []),
}  # fmt: skip


@pytest.mark.parametrize(("when", "offers", "words"), SENT.values(), ids=SENT.keys())
def test_a_keyword_that_nobody_sends(
    when: Condition, offers: list[Offer], words: list[str]
) -> None:
    """Of what a row waits for."""
    assert [each.word for each in not_sent(table(row("a", "act", when)), offers)] == words


def test_what_an_alarm_is_raised_by_is_named() -> None:
    """Wherever it is shown."""
    space = asking(table(row("a", "act", alarm_stands("jam"))), reader("extruder-jam-error")).space
    assert [each.word for each in not_named(space)] == ["extruder-jam-error"]
    assert list(not_named(space, (reasons("any", "extruder-jam"),))) == []
    assert [each.word for each in not_named(space, (reasons("none", "extruder-jam"),))]


def test_a_fault_that_the_bridge_finds_is_told_apart() -> None:
    """It is no word of the reader's."""
    space = asking(table(row("a", "act", ANY_DOOR)), reader("bridge-stalled", "material-low")).space
    assert [(each.kind, each.word) for each in not_named(space)] == [
        (Kind.REASON_NOT_NAMED, "material-low"),
        (Kind.OWN_REASON_NOT_NAMED, "bridge-stalled"),
    ]
