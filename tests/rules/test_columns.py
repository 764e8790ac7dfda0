"""One column: the rows that a value leaves possible, and those that it leaves unknown."""

from __future__ import annotations

import pytest

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue, Reason, Reasons, Severity
from bridge.rules.columns import NumberColumn, SymbolColumn, TruthColumn, columns_of
from bridge.rules.conditions import (
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TruthIs,
)
from tests.rules.made_up import GONE

IDLE = SymbolIs("state", frozenset({"idle"}))
NOT_IDLE = SymbolIs("state", frozenset({"idle"}), negated=True)
LOST = SymbolIs("state", frozenset(), unknown=True)
KNOWN = SymbolIs("state", frozenset(), unknown=True, negated=True)
WARM = NumberIn("chamber-temperature", Interval(30.0, 60.0, most_included=False), "")
STALE = TruthIs("stale", wanted=True)
EMPTY = ReasonsHave("any", (Keyword("material-empty"),))
NO_DOOR = ReasonsHave("none", (Keyword("door-open"),))
SEVERE = SeverityAtLeast(Severity.ERROR)

SPOOL = Reason("material-empty", Severity.WARNING, "material-empty-warning")
DOOR = Reason("door-open", Severity.ERROR, "door-open-error")

#: Rows from the right: row 0 is the last digit.
CASES: list[tuple[list[list[Condition]], FactValue | None, tuple[int, int]]] = [
    ([[IDLE], [NOT_IDLE], [LOST], [KNOWN], []], "idle", (0b11001, 0)),
    ([[IDLE], [NOT_IDLE], [LOST], [KNOWN], []], "stopped", (0b11010, 0)),
    ([[IDLE], [NOT_IDLE], [LOST], [KNOWN], []], GONE, (0b10111, 0b00011)),
    ([[IDLE], [NOT_IDLE], [LOST], [KNOWN], []], None, (0b10111, 0b00011)),
    ([[WARM], []], 30.0, (0b11, 0)),
    ([[WARM], []], 60.0, (0b10, 0)),
    ([[WARM], []], "warm", (0b11, 0b01)),
    ([[STALE], [TruthIs("stale", wanted=False)], []], True, (0b101, 0)),
    ([[STALE], [TruthIs("stale", wanted=False)], []], GONE, (0b111, 0b011)),
    ([[STALE], [TruthIs("stale", wanted=False)], []], 1.0, (0b100, 0)),
    ([[EMPTY], [NO_DOOR], [SEVERE], []], Reasons(()), (0b1010, 0)),
    ([[EMPTY], [NO_DOOR], [SEVERE], []], Reasons((SPOOL,)), (0b1011, 0)),
    ([[EMPTY], [NO_DOOR], [SEVERE], []], Reasons((DOOR,), GONE), (0b1101, 0b0001)),
    ([[EMPTY], [NO_DOOR], [SEVERE], []], Reasons((SPOOL,), GONE), (0b1111, 0b0110)),
    ([[EMPTY], [NO_DOOR], [SEVERE], []], GONE, (0b1111, 0b0111)),
    ([[EMPTY, NO_DOOR], [EMPTY, SEVERE]], Reasons((DOOR, SPOOL)), (0b10, 0)),
]


@pytest.mark.parametrize(("rows", "value", "masks"), CASES)
def test_a_value_answers_for_every_row(
    rows: list[list[Condition]], value: FactValue | None, masks: tuple[int, int]
) -> None:
    """Rows that are not false, and the unknown ones of them."""
    (column,) = columns_of(rows)
    assert column.masks(value) == masks


def test_columns_go_by_the_kind_of_their_tests() -> None:
    """A fact that is tested in two ways has two columns, one tested twice in a row has two too."""
    columns = columns_of(
        [
            [SymbolIs("site-a", frozenset({"x"})), NumberIn("site-a", Interval(least=1.0), "")],
            [SymbolIs("site-a", frozenset({"y"})), SymbolIs("site-a", frozenset({"z"}))],
            [STALE],
        ]
    )
    assert [type(each) for each in columns] == [
        SymbolColumn,
        NumberColumn,
        SymbolColumn,
        TruthColumn,
    ]
    assert [each.fact for each in columns] == ["site-a", "site-a", "site-a", "stale"]
