"""Boxes and the search for what none of them holds, held against counting."""

from __future__ import annotations

import itertools
import random

import pytest

from bridge.rules.analysis.boxes import Box, Budget, Frame, Point, UndecidedError

SIZES = (3, 1, 4)
FRAME = Frame(SIZES)
REASONS = 3


def points() -> list[Point]:
    """Every situation of the small space."""
    return [
        Point(atoms, reasons)
        for atoms in itertools.product(*map(range, SIZES))
        for reasons in range(1 << REASONS)
    ]


def lies_in(point: Point, box: Box) -> bool:
    """Whether a box holds a situation, read off its definition."""
    atoms = all(FRAME.atoms(box, axis) >> atom & 1 for axis, atom in enumerate(point.atoms))
    hit = all(clause & point.reasons for clause in box.clauses)
    return atoms and hit and not box.refused & point.reasons


def any_box(rng: random.Random) -> Box:
    """A box by chance, at times an empty one."""
    sets = FRAME.pack([rng.choice((every, rng.randint(0, every))) for every in (7, 1, 15)])
    clauses = tuple(rng.randint(1, 7) for _ in range(rng.choice((0, 0, 1, 2))))
    return Box(sets, clauses, rng.choice((0, 0, rng.randint(0, 7))))


@pytest.mark.parametrize("seed", range(200))
def test_boxes_mean_the_situations_that_lie_in_them(seed: int) -> None:
    """Empty, meeting, holding and taking away agree with one situation after another."""
    rng = random.Random(seed)
    one, other = any_box(rng), any_box(rng)
    of_one = {point for point in points() if lies_in(point, one)}
    of_other = {point for point in points() if lies_in(point, other)}
    assert FRAME.is_empty(one) == (not of_one)
    assert {point for point in points() if lies_in(point, one.meet(other))} == of_one & of_other
    if of_one:
        assert other.holds(one) == (of_one <= of_other)
        assert FRAME.point_in(one) in of_one
        parts = list(FRAME.without(one, other))
        held = [point for part in parts for point in points() if lies_in(point, part)]
        if of_one & of_other:
            assert sorted(held, key=str) == sorted(of_one - of_other, key=str)


@pytest.mark.parametrize("seed", range(200))
def test_a_hole_is_found_just_where_there_is_one(seed: int) -> None:
    """A situation of the region that lies in none of the boxes, or none when all is covered."""
    rng = random.Random(seed)
    region = any_box(rng)
    boxes = [any_box(rng) for _ in range(rng.randint(0, 9))]
    open_ = {
        point
        for point in points()
        if lies_in(point, region) and not any(lies_in(point, box) for box in boxes)
    }
    found = FRAME.hole(region, boxes, Budget(100_000))
    assert found in open_ if open_ else found is None


def test_a_question_ends_when_its_budget_is_spent() -> None:
    """It says so, and the next one starts with all of it, until all of them are spent."""
    budget = Budget(3, 8)
    budget.spend(3)
    with pytest.raises(UndecidedError):
        budget.spend(1)
    budget.begin()
    budget.spend(3)
    budget.begin()
    with pytest.raises(UndecidedError):
        budget.spend(2)
    boxes = [Box(FRAME.pack([1 << n % 3, 1, 1 << n % 4])) for n in range(12)]
    with pytest.raises(UndecidedError):
        FRAME.hole(FRAME.every, boxes, Budget(2))


def test_one_axis_is_narrowed_and_the_others_stay() -> None:
    """Packing and unpacking go round."""
    box = Box(FRAME.pack([5, 1, 9]), (1,), 2)
    narrow = FRAME.narrowed(box, 2, 8)
    assert [FRAME.atoms(narrow, axis) for axis in FRAME.axes] == [5, 1, 8]
    assert (narrow.clauses, narrow.refused) == ((1,), 2)
    assert narrow.of_reasons == Box(0, (1,), 2)
