"""One fact as atoms."""

from __future__ import annotations

import math

import pytest

from bridge.facts.reader import Interval
from bridge.facts.truth import Truth
from bridge.rules.analysis.axes import LOST, OTHER_WORD, Axis, axis_of, reasons_axis, round_number
from bridge.rules.analysis.offers import Values
from bridge.rules.conditions import Condition, NumberIn, SymbolIs, TruthIs

HALF = NumberIn("site-a", Interval(least=0.5), "")
TENTH = NumberIn("site-a", Interval(most=0.1), "")
IDLE = SymbolIs("site-a", frozenset({"idle"}))
NOT_IDLE = SymbolIs("site-a", frozenset({"idle"}), negated=True)
GONE = SymbolIs("site-a", frozenset(), unknown=True)
THERE = SymbolIs("site-a", frozenset({"idle"}), unknown=True, negated=True)
YES = TruthIs("site-a", wanted=True)
CONDITIONS: list[Condition] = [HALF, TENTH, IDLE, NOT_IDLE, GONE, THERE, YES]

MIXED = Values(("idle", "at it"), numbers=(0.0, 1.0), truths=True)


def test_an_axis_has_numbers_then_words_then_truths_then_the_unknown() -> None:
    """One number for each piece that some test tells from its neighbours."""
    axis = axis_of("site-a", MIXED, CONDITIONS)
    numbers = axis.values[:3]
    assert numbers[0] == pytest.approx(0.05, abs=0.05)
    assert 0.1 < float(str(numbers[1])) < 0.5 <= float(str(numbers[2])) <= 1.0
    assert axis.values[3:] == ("idle", "at it", False, True, LOST)
    assert axis.known == 0b1111111
    assert axis.unknown == 0b10000000
    assert axis.where("at it") == 0b10000
    assert axis.where(True) == 0b1000000  # noqa: FBT003 - the value looked for


@pytest.mark.parametrize("condition", CONDITIONS, ids=str)
def test_an_axis_judges_as_the_condition_does(condition: Condition) -> None:
    """Atom by atom what the condition says of its value."""
    axis = axis_of("site-a", MIXED, CONDITIONS)
    true, open_ = axis.judged(condition)
    for n, value in enumerate(axis.values):
        truth = condition.test({"site-a": value})
        assert (true >> n & 1, open_ >> n & 1) == (truth is Truth.TRUE, truth is Truth.UNKNOWN)


def test_other_words_are_one_atom() -> None:
    """A text can be anything: what rows name, and all the rest."""
    axis = axis_of("job-name", Values(any_text=True), [IDLE])
    assert axis.values == ("idle", OTHER_WORD, LOST)


def test_what_a_reader_cannot_give_is_no_atom() -> None:
    """Pieces beyond its least and most are not there, and a truth is always known."""
    axis = axis_of("site-a", Values(numbers=(0.6, 0.9), unknown=False), [HALF, TENTH])
    assert len(axis.values) == 1
    assert axis.unknown == 0
    assert axis.judged(HALF) == (1, 0)
    assert axis.judged(TENTH) == (0, 0)


def test_numbers_without_end_are_two_pieces_at_one_cut() -> None:
    """An open end is no cut."""
    axis = axis_of("layer", Values(numbers=(-math.inf, math.inf)), [HALF, TENTH])
    assert [isinstance(value, float) for value in axis.values] == [True, True, True, False]


def test_reasons_are_all_known_or_perhaps_not() -> None:
    """Which reasons there are is kept apart."""
    axis = reasons_axis("reasons")
    assert (axis.known, axis.unknown) == (0b01, 0b10)
    with pytest.raises(TypeError, match="no test of a single value"):
        Axis("reasons", ()).judged("any")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("begin", "end", "value"),
    [
        (0.0, 1.0, 0.0),
        (0.25, 0.5, 0.4),
        (10.0, 90.0, 50.0),
        (1234.0, 1236.0, 1235.0),
        (math.nextafter(0.5, 1), math.inf, 1.0),
        (-math.inf, 0.0, -0.5),
        (-math.inf, math.inf, 0.0),
        (0.5, math.nextafter(0.5, 1), 0.5),
    ],
)
def test_an_example_is_a_number_that_people_would_say(
    begin: float, end: float, value: float
) -> None:
    """In the piece, with few digits where it can."""
    found = round_number(begin, end)
    assert begin <= found < end
    assert found == value
