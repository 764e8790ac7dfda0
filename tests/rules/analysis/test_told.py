"""What no expect case would notice."""

from __future__ import annotations

import pytest

from bridge.facts.values import Facts, FactValue
from bridge.rules.analysis.axes import LOST
from bridge.rules.analysis.finding import Kind
from bridge.rules.analysis.told import Cases, not_noticed
from bridge.rules.decision import decide
from bridge.rules.table import Table, alarm_stands
from tests.rules.analysis.building import (
    SILENT,
    asking,
    job,
    row,
    state,
    table,
)

ROWS = (
    row("late", "unknown", SILENT),
    row("stopped", "act", state("stopped")),
    row("done", "notice", state("idle"), job("completed")),
    row("idle", "resting", state("idle")),
)
WALL = table(*ROWS)
LATE: Facts = {"stale": True, "state": "stopped", "job": "processing"}
STOPPED: Facts = {"stale": False, "state": "stopped", "job": "processing"}
DONE: Facts = {"stale": False, "state": "idle", "job": "completed"}
IDLE: Facts = {"stale": False, "state": "idle", "job": "no-value"}
LATE_DONE: Facts = {"stale": True, "state": "idle", "job": "completed"}
LATE_IDLE: Facts = {"stale": True, "state": "idle", "job": "no-value"}
Told = tuple[Kind, str, str]

CASES: dict[str, tuple[list[Facts], list[Told]]] = {
    "each row and each order": ([LATE, LATE_DONE, LATE_IDLE, STOPPED, DONE, IDLE], []),
    "the order of the first two": (
        [{**LATE, "state": "processing"}, LATE_DONE, LATE_IDLE, STOPPED, DONE, IDLE],
        [(Kind.NOT_TOLD_APART, "late", "stopped")],
    ),
    "of rows that decide no case nothing is said": (
        [STOPPED],
        [(Kind.NOT_TOLD_APART, "stopped", "late")],
    ),
}


@pytest.mark.parametrize(("cases", "told"), CASES.values(), ids=CASES.keys())
def test_what_no_case_notices_is_told_with_a_situation(
    cases: list[Facts], told: list[Told]
) -> None:
    """A row that can be moved past the nearest one that matters."""
    found = list(not_noticed(asking(WALL), Cases(WALL, cases), set()))
    assert [
        (each.kind, each.row.name, each.other.name if each.other else "") for each in found
    ] == told
    for each in found:
        assert each.situation is not None
        assert {each.row, each.other} >= {decide(WALL, each.situation, each.offered).row}


def test_a_row_whose_loss_shows_the_same_is_not_noticed() -> None:
    """A case that it decides is not enough: without it the next row shows that scene too."""
    made = table(
        row("aborted", "act", job("aborted"), state("idle"), show="see"),
        row("stopped", "act", state("stopped"), show="see"),
        row("odd", "act", job("aborted"), state("processing"), show="see"),
        row("spoiled", "act", job("aborted"), show="look"),
    )
    cases = Cases(made, [{"state": "stopped", "job": "aborted"}])
    found = list(not_noticed(asking(made), cases, set()))
    assert [each.kind for each in found] == []
    twice = table(*made.rows[1:2], row("again", "act", state("stopped", "idle"), show="see"))
    cases = Cases(twice, [{"state": "stopped"}, {"state": "idle"}])
    assert list(not_noticed(asking(twice), cases, set())) == []


def test_a_row_that_matters_elsewhere_wants_a_case_there() -> None:
    """Its one case would show the same without it, another situation would not."""
    made = table(
        row("stopped", "act", state("stopped"), show="see"),
        row("late", "act", SILENT, show="see"),
    )
    cases = Cases(made, [{"state": "stopped", "stale": True}])
    (found,) = not_noticed(asking(made), cases, set())
    assert (found.kind, found.row.name) == (Kind.NOT_NOTICED, "stopped")
    assert found.situation is not None
    assert found.situation["stale"] is False


def test_a_case_notices_an_order_that_shows_it_something_else() -> None:
    """Passing over counts as well: a row that cannot be judged holds comfort back."""
    cases = Cases(WALL, [{"stale": False, "state": "idle", "job": "no-value"}])
    assert not cases.notice([1, 0, 2, 3], 0)
    assert cases.notice([0, 1, 2], 3)
    unsure = Cases(WALL, [{**IDLE, "job": LOST}])
    assert unsure.deciding == {-1}
    assert unsure.notice([0, 1, 3, 2], 3)


HALT = row("halt", "act", alarm_stands("halt"))
EMPTY = row("empty", "act", alarm_stands("empty"), state("stopped"))
ALARMS = table(HALT, row("silent", "unknown", SILENT), EMPTY, row("idle", "resting", state("idle")))
FINE: dict[str, FactValue] = {"stale": False, "alarm halt": "normal", "alarm empty": "normal"}
STANDING: dict[str, tuple[dict[str, FactValue], list[int], bool]] = {
    "an acknowledged alarm stays where it is written": (
        {"state": "idle", "stale": True, "alarm halt": "acknowledged"},
        [1, 0, 2, 3],
        True,
    ),
    "an unacknowledged one is above all others wherever it is": (
        {"state": "idle", "stale": True, "alarm halt": "unacknowledged"},
        [1, 3, 2, 0],
        False,
    ),
    "of two unacknowledged ones the order as written decides": (
        {"state": "stopped", "alarm halt": "unacknowledged", "alarm empty": "unacknowledged"},
        [1, 2, 0, 3],
        True,
    ),
    "what is taken away cuts in no more": (
        {"state": "idle", "alarm halt": "unacknowledged"},
        [1, 2, 3],
        True,
    ),
}


@pytest.mark.parametrize(("facts", "order", "noticed"), STANDING.values(), ids=STANDING.keys())
def test_a_case_notices_alarms_in_another_order(
    facts: dict[str, FactValue], order: list[int], noticed: bool
) -> None:
    """A table in another order is read anew, its unacknowledged alarms first."""
    assert Cases(ALARMS, [FINE | facts]).notice(order, 0) is noticed
    moved = Table("wall", tuple(ALARMS.rows[n] for n in order), ALARMS.otherwise)
    shown = [
        decide(made, FINE | facts, frozenset(FINE | facts)).row.show for made in (ALARMS, moved)
    ]
    assert (shown[0] != shown[1]) is noticed
