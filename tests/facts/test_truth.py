"""Three-valued truth, every cell of its tables."""

from __future__ import annotations

from itertools import product

import pytest

from bridge.facts.truth import NOT, Truth, all_of, any_of, truth_of

T, F, U = Truth.TRUE, Truth.FALSE, Truth.UNKNOWN


@pytest.mark.parametrize(
    ("one", "other", "both", "either"),
    [
        (T, T, T, T),
        (T, F, F, T),
        (T, U, U, T),
        (F, T, F, T),
        (F, F, F, F),
        (F, U, F, U),
        (U, T, U, T),
        (U, F, F, U),
        (U, U, U, U),
    ],
)
def test_every_cell(one: Truth, other: Truth, both: Truth, either: Truth) -> None:
    """Kleene's strong tables."""
    assert all_of([one, other]) is both
    assert any_of([one, other]) is either


@pytest.mark.parametrize(("truth", "negated"), [(T, F), (F, T), (U, U)])
def test_not(truth: Truth, negated: Truth) -> None:
    """The negation of an unknown is unknown, never true."""
    assert NOT[truth] is negated


def test_of_none() -> None:
    """All of none hold, and any of none does not."""
    assert all_of([]) is T
    assert any_of([]) is F


@pytest.mark.parametrize("truths", list(product(Truth, repeat=3)))
def test_de_morgan(truths: tuple[Truth, ...]) -> None:
    """The two tables are each other's mirror, over three statements too."""
    assert NOT[all_of(truths)] is any_of(NOT[truth] for truth in truths)


@pytest.mark.parametrize(("known", "truth"), [(True, T), (False, F)])
def test_truth_of(known: bool, truth: Truth) -> None:
    """A two-valued result lifted."""
    assert truth_of(known) is truth


def test_a_truth_is_no_bool() -> None:
    """An unknown cannot slip through an ``if``."""
    with pytest.raises(TypeError, match="three-valued"):
        bool(U)
