"""Several printers on one segment: whose row shows, and whose turn it is."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.vocabulary import COMFORTABLE, Says
from bridge.rules.sharing import (
    LEAST_MS,
    MARK_MS,
    Standing,
    Turn,
    began_with,
    rank,
    turn_at,
    turn_length_ms,
    turns,
    worst,
)
from bridge.rules.table import Row, Source, Table, alarm_stands

HERE = Source("rules.yaml", 1, 1)
OTHERWISE = Row("otherwise", (), "not-known", "unknown", HERE)


def table(*says: Says, alarms: int = 0) -> Table:
    """One row a word; the first ``alarms`` of them are about an alarm each."""
    rows = (
        Row(f"row {n}", (alarm_stands(f"a{n}"),) if n < alarms else (), f"scene-{n}", each, HERE)
        for n, each in enumerate(says)
    )
    return Table("wall", tuple(rows), OTHERWISE)


#: Expanded: 1 and 2 cut in, 3 and 4 are the same alarms acknowledged, 5 to 7 are as written.
WALL = table("trouble", "act", "notice", "well", "resting", alarms=2)


def standing(
    printer: str,
    position: int,
    since_ms: int = 0,
    *,
    active: bool = True,
    unacknowledged: bool = False,
    of: Table = WALL,
) -> Standing:
    """What the table decided for a printer."""
    row = of.expanded[position - 1] if position else of.otherwise
    return Standing(printer, position, row, active, since_ms, unacknowledged)


def ranked(of: Table) -> list[int]:
    """Every position, the first to be shown first."""
    return sorted(range(len(of.expanded) + 1), key=lambda position: rank(of, position))


@pytest.mark.parametrize(
    ("of", "positions"),
    [
        (WALL, [1, 2, 3, 4, 5, 0, 6, 7]),
        (table("trouble", "act"), [1, 2, 0]),
        (table("well", "trouble"), [0, 1, 2]),
        (table("notice", "resting", "act"), [1, 0, 2, 3]),
        (table(), [0]),
    ],
)
def test_otherwise_ranks_just_above_the_first_row_that_reassures(
    of: Table, positions: list[int]
) -> None:
    """All other rows rank as they are read, those of unacknowledged alarms first."""
    assert ranked(of) == positions


WORST = [
    ("a graver row", [standing("a", 6), standing("b", 3)], "b"),
    ("nothing known hides no fault", [standing("a", 0), standing("b", 5)], "b"),
    ("nothing known is not well", [standing("a", 6), standing("b", 0)], "b"),
    ("new over acknowledged", [standing("a", 3), standing("b", 2)], "b"),
    ("active before returned", [standing("a", 1, 5, active=False), standing("b", 1, 9)], "b"),
    ("the oldest", [standing("a", 1, 9), standing("b", 1, 5)], "b"),
    ("by name", [standing("b", 1, 5), standing("a", 1, 5)], "a"),
    ("a row before its age", [standing("a", 2, 1), standing("b", 1, 9, active=False)], "b"),
    ("alone", [standing("a", 7)], "a"),
]


@pytest.mark.parametrize(
    ("standings", "printer"), [case[1:] for case in WORST], ids=[case[0] for case in WORST]
)
def test_the_worst_shows(standings: list[Standing], printer: str) -> None:
    """By row, within a row active before returned, then the oldest, then by name."""
    assert worst(WALL, standings).printer == printer


STANDINGS = st.lists(
    st.builds(
        standing,
        st.sampled_from(["brig", "cutter", "kestrel", "plover", "sloop"]),
        st.integers(0, len(WALL.expanded)),
        st.integers(0, 3),
        active=st.booleans(),
        unacknowledged=st.booleans(),
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda each: each.printer,
)


@given(STANDINGS, st.randoms(use_true_random=False))
def test_the_order_of_printers_is_no_matter(standings: list[Standing], chance: Random) -> None:
    """Neither for the worst nor for the turns: however the site lists its printers."""
    shuffled = list(standings)
    chance.shuffle(shuffled)
    assert worst(WALL, shuffled) == worst(WALL, standings)
    assert turns(shuffled) == turns(standings)


@given(STANDINGS)
def test_nobody_stands_worse_than_the_worst(standings: list[Standing]) -> None:
    """No row above it is anybody's, and it reassures only where all are known to be well."""
    shown = worst(WALL, standings)
    assert shown in standings
    assert rank(WALL, shown.position) == min(rank(WALL, each.position) for each in standings)
    if shown.row.says in COMFORTABLE:
        assert {each.row.says for each in standings} <= COMFORTABLE


@given(STANDINGS, STANDINGS)
def test_the_worst_of_two_groups_is_the_worse_of_their_worst(
    some: list[Standing], others: list[Standing]
) -> None:
    """So that a printer more never makes a segment milder."""
    both = [worst(WALL, some), worst(WALL, others)]
    assert worst(WALL, both) == worst(WALL, some + others)


@pytest.mark.parametrize(
    ("standings", "names"),
    [
        ([standing("sloop", 6), standing("brig", 0)], ["brig", "sloop"]),
        ([standing("sloop", 1, unacknowledged=True), standing("brig", 3)], ["sloop"]),
        (
            [
                standing("sloop", 1, unacknowledged=True),
                standing("kestrel", 6),
                standing("brig", 2, unacknowledged=True),
            ],
            ["brig", "sloop"],
        ),
    ],
)
def test_unacknowledged_alarms_take_turns_alone(
    standings: list[Standing], names: list[str]
) -> None:
    """All take turns where there is none; always by name."""
    assert [each.printer for each in turns(standings)] == names


TWO = (standing("brig", 6), standing("sloop", 7))
EVENING = [
    (0, Turn(0, "mark", 3000)),
    (2999, Turn(0, "mark", 3000)),
    (3000, Turn(0, "scene", 8000)),
    (7999, Turn(0, "scene", 8000)),
    (8000, Turn(1, "mark", 11_000)),
    (11_000, Turn(1, "scene", 16_000)),
    (16_000, Turn(0, "mark", 19_000)),
    (16_000_003, Turn(0, "mark", 16_003_000)),
]


@pytest.mark.parametrize(("ms", "turn"), EVENING)
def test_the_mark_comes_first(ms: int, turn: Turn) -> None:
    """Three seconds of it, then five of the scene, then the next printer."""
    assert turn_at(TWO, ms, 0, 5000) == turn
    later = turn_at(TWO, ms + 77, 77, 5000)
    assert later == Turn(turn.index, turn.showing, turn.until_ms + 77)


def walk(taking: Sequence[Standing], t0_ms: int, dwell_ms: int, steps: int) -> list[Turn]:
    """The turns as a clock that looks only when it was told to would see them."""
    seen, now_ms = [], t0_ms
    for _ in range(steps):
        seen.append(turn_at(taking, now_ms, t0_ms, dwell_ms))
        now_ms = seen[-1].until_ms
    return seen


@given(STANDINGS, st.integers(0, 10**12), st.integers(0, 60_000))
def test_each_has_its_turn_and_nothing_changes_faster_than_a_glance(
    standings: list[Standing], t0_ms: int, dwell_ms: int
) -> None:
    """Whatever the dwell: a mark, its printer's scene, the next one's mark, round and round."""
    taking = turns(standings)
    seen = walk(taking, t0_ms, dwell_ms, 4 * len(taking))
    assert [each.showing for each in seen] == ["mark", "scene"] * 2 * len(taking)
    indexes = [index for index in range(len(taking)) for _ in range(2)]
    assert [each.index for each in seen] == indexes * 2
    ends = [t0_ms, *(each.until_ms for each in seen)]
    assert min(after - before for before, after in pairwise(ends)) >= LEAST_MS
    assert ends[2 * len(taking)] == t0_ms + len(taking) * turn_length_ms(dwell_ms)


@given(STANDINGS, st.integers(0, 10**9), st.integers(LEAST_MS, 60_000), st.integers(0, 300_000))
def test_a_look_at_any_time_tells_the_same_end(
    standings: list[Standing], t0_ms: int, dwell_ms: int, after_ms: int
) -> None:
    """However late a timer fired, what shows is what should, until its next change."""
    now_ms = t0_ms + after_ms
    turn = turn_at(standings, now_ms, t0_ms, dwell_ms)
    assert now_ms < turn.until_ms <= now_ms + max(dwell_ms, MARK_MS)
    assert turn_at(standings, turn.until_ms - 1, t0_ms, dwell_ms) == turn
    following = turn_at(standings, turn.until_ms, t0_ms, dwell_ms)
    assert (following.index, following.showing) != (turn.index, turn.showing)


@given(STANDINGS, st.data(), st.integers(0, 10**9), st.integers(0, 60_000))
def test_a_new_alarm_waits_for_no_mark(
    standings: list[Standing], data: st.DataObject, now_ms: int, dwell_ms: int
) -> None:
    """Turns may begin with the scene of any printer, in full length."""
    taking = turns(standings)
    index = data.draw(st.integers(0, len(taking) - 1))
    t0_ms = began_with(taking, taking[index].printer, now_ms, dwell_ms)
    until_ms = now_ms + turn_length_ms(dwell_ms) - MARK_MS
    assert turn_at(taking, now_ms, t0_ms, dwell_ms) == Turn(index, "scene", until_ms)
