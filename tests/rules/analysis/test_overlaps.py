"""Overlaps: told only where neither holds the other, loud where the milder scene wins."""

from __future__ import annotations

import pytest

from bridge.rules.analysis import overlaps
from bridge.rules.analysis.finding import Kind
from bridge.rules.analysis.offers import Offer, Values, World
from bridge.rules.analysis.overlaps import crossings, cutting_in, graver_overlaps, milder_overlaps
from bridge.rules.decision import decide
from bridge.rules.table import Row, Table, alarm_stands
from tests.rules.analysis.building import SILENT, asking, job, row, state, table

STOPPED = row("stopped", "act", state("stopped"))
QUIET = row("quiet", "unknown", SILENT)
CASES: dict[str, tuple[list[Row], list[tuple[str, str]], list[tuple[str, str]]]] = {
    "the milder wins": ([QUIET, STOPPED], [("quiet", "stopped")], []),
    "the graver wins": ([STOPPED, QUIET], [], [("stopped", "quiet")]),
    "as grave": (
        [row("late", "act", SILENT), STOPPED],
        [],
        [("late", "stopped")],
    ),
    "the same scene": ([row("late", "act", SILENT, show="stopped"), STOPPED], [], []),
    "one inside the other": (
        [row("aborted", "notice", state("stopped"), job("aborted")), STOPPED],
        [],
        [],
    ),
    "they never meet": ([row("idle", "resting", state("idle")), STOPPED], [], []),
    "a third always decides where they meet": (
        [row("both", "trouble", SILENT, state("stopped")), QUIET, STOPPED],
        [],
        [],
    ),
}


@pytest.mark.parametrize(("rows", "loud", "quiet"), CASES.values(), ids=CASES.keys())
def test_overlaps_are_loud_or_quiet(
    rows: list[Row], loud: list[tuple[str, str]], quiet: list[tuple[str, str]]
) -> None:
    """And a loud one comes with a situation in which it happens."""
    made = table(*rows)
    deciding = asking(made)
    found = list(milder_overlaps(deciding, set()))
    assert [(each.row.name, each.other.name if each.other else "") for each in found] == loud
    pairs = [(each.row.name, each.other.name) for each in graver_overlaps([deciding]) if each.other]
    assert pairs == quiet
    for each in found:
        assert each.kind is Kind.OVERLAP_MILDER
        assert each.situation is not None
        assert decide(made, each.situation, each.offered).row is each.row


def test_a_pair_that_was_told_is_not_told_again() -> None:
    """By another reader, or as a graver set of reasons that shows something milder."""
    deciding = asking(table(QUIET, STOPPED))
    told: set[tuple[str, str]] = set()
    assert len(list(milder_overlaps(deciding, told))) == 1
    assert list(milder_overlaps(deciding, told)) == []
    assert [(place.row.name, rows) for place, rows in crossings(deciding)] == [("quiet", 0b10)]


def test_what_a_reader_cannot_bring_about_is_no_overlap() -> None:
    """Where nothing can be known while it is late, silence and a state never meet."""
    offer = Offer(
        "plain",
        {"state": Values(("idle", "stopped")), "stale": Values(truths=True, unknown=False)},
        (World({"stale": False}), World({"stale": True}, frozenset({"state"}))),
    )
    assert list(milder_overlaps(asking(table(QUIET, STOPPED), offer), set())) == []


def test_a_table_that_is_wrong_everywhere_is_not_listed_without_end(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It says that it gave up."""
    monkeypatch.setattr(overlaps, "MOST_ASKED", 1)
    found = list(
        milder_overlaps(asking(table(QUIET, STOPPED, row("idle", "act", state("idle")))), set())
    )
    assert [each.kind for each in found] == [Kind.OVERLAP_MILDER, Kind.NOT_DECIDED]


JAM = row("jam", "act", alarm_stands("jam"))
BROKEN = row("broken", "trouble", state("stopped"))
HIDING: dict[str, tuple[Table, list[tuple[str, str]]]] = {
    "a graver row above it": (table(BROKEN, JAM), [("jam", "broken")]),
    "another alarm above it": (table(row("fire", "trouble", alarm_stands("fire")), JAM), []),
    "a milder row": (table(row("silent", "unknown", SILENT), JAM), []),
    "a row that cannot hold with it": (
        table(BROKEN, row("jam", "act", alarm_stands("jam"), state("idle"))),
        [],
    ),
}


@pytest.mark.parametrize(("made", "pairs"), HIDING.values(), ids=HIDING.keys())
def test_an_alarm_that_hides_something_graver_is_told(
    made: Table, pairs: list[tuple[str, str]]
) -> None:
    """Until somebody acknowledges it, it stands above every row."""
    found = list(cutting_in(asking(made), set()))
    assert [(each.row.name, each.other.name) for each in found if each.other] == pairs
    for each in found:
        assert each.situation is not None
        assert decide(made, each.situation, each.offered).row.name == each.row.name
        assert each.row in made.rows


def test_what_was_told_of_the_rows_as_written_is_not_told_again() -> None:
    """One finding for two rows."""
    deciding, told = asking(table(JAM, BROKEN)), set[tuple[str, str]]()
    assert [each.kind for each in milder_overlaps(deciding, told)] == [Kind.OVERLAP_MILDER]
    assert list(cutting_in(deciding, told)) == []
