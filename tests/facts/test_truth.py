"""Three-valued truth, every cell of its tables."""

from __future__ import annotations

from itertools import product

import pytest

from bridge.facts.truth import NOT, Truth, all_of, truth_of

T, F, U = Truth.TRUE, Truth.FALSE, Truth.UNKNOWN


@pytest.mark.parametrize(
    ("one", "other", "both"),
    [
        (T, T, T),
        (T, F, F),
        (T, U, U),
        (F, T, F),
        (F, F, F),
        (F, U, F),
        (U, T, U),
        (U, F, F),
        (U, U, U),
    ],
)
def test_every_cell(one: Truth, other: Truth, both: Truth) -> None:
    """Kleene's strong tables."""
    assert all_of([one, other]) is both


@pytest.mark.parametrize(("truth", "negated"), [(T, F), (F, T), (U, U)])
def test_not(truth: Truth, negated: Truth) -> None:
    """The negation of an unknown is unknown, never true."""
    assert NOT[truth] is negated


def test_of_none() -> None:
    """All of none hold."""
    assert all_of([]) is T


@pytest.mark.parametrize("truths", list(product(Truth, repeat=3)))
def test_the_order_and_the_grouping_do_not_matter(truths: tuple[Truth, ...]) -> None:
    """Kleene's conjunction is the least of its parts, with unknown between false and true."""
    least = min(truths, key=(F, U, T).index)
    assert all_of(truths) is least
    assert all_of([truths[0], all_of(truths[1:])]) is least


@pytest.mark.parametrize(("known", "truth"), [(True, T), (False, F)])
def test_truth_of(known: bool, truth: Truth) -> None:
    """A two-valued result lifted."""
    assert truth_of(known) is truth


def test_a_truth_is_no_bool() -> None:
    """An unknown cannot slip through an ``if``."""
    with pytest.raises(TypeError, match="three-valued"):
        bool(U)
