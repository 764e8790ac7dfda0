"""Lives: what a printer truly goes through, the same however often it is asked."""

from __future__ import annotations

import itertools
import random

import pytest

from bridge.simulator.life import (
    Closed,
    Condition,
    Doing,
    Life,
    Snag,
    Stretch,
    life_by_chance,
)

LIFE = Life(
    [
        Stretch(Doing.RESTING, 1000),
        Stretch(Doing.WARMING, 1000),
        Stretch(Doing.WORKING, 4000, reaches=0.4),
        Stretch(Doing.SNAGGED, 1000, snag=Snag.SPOOL),
        Stretch(Doing.WORKING, 6000, reaches=1.0),
        Stretch(Doing.RESTING, 1000, closed=Closed.SOUND),
        Stretch(Doing.OFF, 1000),
        Stretch(Doing.WARMING, 1000),
        Stretch(Doing.WORKING, 1000, reaches=0.5),
        Stretch(Doing.RESTING, 1000, closed=Closed.SPOILED),
    ],
    pieces=("keel", "bow"),
)

INSTANTS = [
    (0, Doing.RESTING, 0.0, None),
    (1999, Doing.WARMING, 0.0, "keel"),
    (2000, Doing.WORKING, 0.0, "keel"),
    (4000, Doing.WORKING, 0.2, "keel"),
    (6000, Doing.SNAGGED, 0.4, "keel"),
    (6999, Doing.SNAGGED, 0.4, "keel"),
    (10_000, Doing.WORKING, 0.7, "keel"),
    (13_500, Doing.RESTING, 1.0, "keel"),
    (14_500, Doing.OFF, 0.0, None),
    (15_500, Doing.WARMING, 0.0, "bow"),
    (16_500, Doing.WORKING, 0.25, "bow"),
    (17_500, Doing.RESTING, 0.5, "bow"),
    (99_999, Doing.RESTING, 0.5, "bow"),
]


@pytest.mark.parametrize(("now_ms", "doing", "done", "piece"), INSTANTS)
def test_every_instant_has_one_answer(
    now_ms: int, doing: Doing, done: float, piece: str | None
) -> None:
    """Work grows evenly, stands while nothing is done, and is gone with the power."""
    now = LIFE.at(now_ms)
    assert (now.doing, now.piece) == (doing, piece)
    assert now.done == pytest.approx(done)
    assert LIFE.at(now_ms) == now


@pytest.mark.parametrize(
    ("now_ms", "change"), [(0, 1000), (999, 1000), (1000, 2000), (17_000, None), (99_000, None)]
)
def test_the_next_change_is_known(now_ms: int, change: int | None) -> None:
    """The start of the next stretch; the last one never ends."""
    assert LIFE.change_after(now_ms) == change


def test_time_left_counts_down_to_the_end_of_the_piece() -> None:
    """Nobody can tell while it stands still."""
    assert LIFE.at(10_000).left_ms == 3000
    assert LIFE.at(6500).left_ms is None


def test_the_parts_warm_up_and_cool_down() -> None:
    """Warmth follows the work with a delay, and never leaps."""
    noses = [LIFE.at(now_ms).nose for now_ms in range(0, 18_000, 100)]
    assert noses[0] == pytest.approx(21.0)
    assert LIFE.at(13_000).nose > LIFE.at(2000).nose
    assert LIFE.at(14_900).nose < LIFE.at(13_000).nose
    assert max(abs(b - a) for a, b in itertools.pairwise(noses)) < 5


def test_a_life_needs_a_stretch() -> None:
    """An empty life has no answer to anything."""
    with pytest.raises(ValueError, match="at least one stretch"):
        Life([])


def test_chance_is_decided_by_its_seed() -> None:
    """The same seed lives the same life, another seed another one."""
    one, again, other = (life_by_chance(random.Random(seed), 3_600_000) for seed in (3, 3, 4))
    assert one.stretches == again.stretches
    assert one.stretches != other.stretches


@pytest.mark.parametrize("seed", range(20))
def test_a_life_by_chance_is_plausible(seed: int) -> None:
    """Work never loses ground, only a full piece is finished, and a snag has its reason."""
    life = life_by_chance(random.Random(seed), 36_000_000, pace=2)
    assert life.stretches[-1][0] + life.stretches[-1][1].lasts_ms >= 36_000_000
    before: Condition | None = None
    for start_ms, stretch in life.stretches:
        now = life.at(start_ms)
        assert stretch.lasts_ms > 0
        assert (stretch.snag is not None) == (stretch.doing is Doing.SNAGGED)
        assert stretch.closed is None or stretch.doing is Doing.RESTING
        if stretch.doing is Doing.WORKING:
            assert stretch.reaches >= now.done
        if stretch.closed is Closed.SOUND:
            assert before is not None
            assert life.at(start_ms - 1).done == pytest.approx(1.0, abs=0.01)
        before = now


def test_many_lives_see_everything() -> None:
    """Every doing, snag and end comes up: a campaign over lives meets them all."""
    stretches = [
        stretch
        for seed in range(10)
        for _, stretch in life_by_chance(random.Random(seed), 36_000_000).stretches
    ]
    assert {stretch.doing for stretch in stretches} == set(Doing)
    assert {stretch.snag for stretch in stretches} == {*Snag, None}
    assert {stretch.closed for stretch in stretches} == {*Closed, None}


@pytest.mark.parametrize(
    ("now_ms", "words"),
    [
        (0, "at rest"),
        (4000, "at work on the keel, 20%"),
        (6000, "at a stand on the keel, 40% because its spool is bare"),
        (13_000, "at rest with a keel finished"),
        (14_000, "switched off"),
    ],
)
def test_a_condition_reads_as_a_sentence(now_ms: int, words: str) -> None:
    """What the demo prints of a printer."""
    assert str(LIFE.at(now_ms)) == words
