"""The same question as boxes, column by column: the two searches agree."""

from __future__ import annotations

import random

import pytest

from bridge.rules.analysis.boxes import Budget, UndecidedError
from bridge.rules.analysis.splitting import Splitting
from tests.rules.analysis.test_boxes import FRAME, any_box, lies_in


@pytest.mark.parametrize("seed", range(300))
def test_both_searches_agree(seed: int) -> None:
    """Two ways of looking, one answer; and what is found lies where it should."""
    rng = random.Random(seed)
    region = any_box(rng)
    boxes = [any_box(rng) for _ in range(rng.randint(0, 9))]
    found = Splitting(FRAME, region, boxes, Budget(100_000)).search()
    other = FRAME.hole(region, boxes, Budget(100_000))
    assert (found is None) == (other is None)
    if found is not None:
        assert lies_in(found, region)
        assert not any(lies_in(found, box) for box in boxes)


def test_splitting_gives_up_too() -> None:
    """The worst case is exponential, and the budget makes that an answer."""
    boxes = [any_box(random.Random(seed)) for seed in range(40)]
    with pytest.raises(UndecidedError):
        Splitting(FRAME, FRAME.every, boxes, Budget(1)).search()
