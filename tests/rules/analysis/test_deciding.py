"""Whether a row can decide, held to the matcher both ways: what is found, and what is denied."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.rules.analysis.boxes import Box, Point, UndecidedError
from bridge.rules.analysis.deciding import Deciding, blocking, unknown_where
from bridge.rules.analysis.space import Place, Space
from bridge.rules.decision import decide
from bridge.rules.table import Table, lasting_for
from tests.rules.analysis.building import (
    LOST,
    alarmed_tables,
    any_point,
    asking,
    job,
    made_tables,
    reasons,
    row,
    situation,
    state,
    table,
)
from tests.rules.analysis.test_space import is_true


def deciders(deciding: Deciding) -> dict[str, Point | None]:
    """By row where it decides."""
    found: dict[str, Point | None] = {each.name: None for each in deciding.space.table.rows}
    for place in deciding.space.places:
        found[place.row.name] = deciding.situation(place) or found[place.row.name]
    return found


def test_where_a_row_is_said_to_decide_the_matcher_lets_it() -> None:
    """And no situation tried by chance has a row decide that is said never to."""
    found = denied = 0
    for rng, deciding in (*made_tables(range(250)), *alarmed_tables(range(250))):
        space, made = deciding.space, deciding.space.table
        points = deciders(deciding)
        gap = deciding.gap_of_unknown()
        for name, point in points.items():
            if point is not None:
                assert decide(made, space.situation(point), space.offered).row.name == name
                found += 1
            else:
                denied += 1
        if gap is not None:
            assert decide(made, space.situation(gap), space.offered).row is made.otherwise
        for _ in range(100):
            row_ = decide(made, space.situation(any_point(rng, space)), space.offered).row
            assert (gap if row_ is made.otherwise else points[row_.name]) is not None
    assert found > 500
    assert denied > 500


def test_blocking_and_unknown_are_what_the_columns_judge() -> None:
    """A row keeps those below from reassuring just where it is true or unsure."""
    for rng, deciding in (*made_tables(range(120)), *alarmed_tables(range(120))):
        space = deciding.space
        for _ in range(15):
            point = any_point(rng, space)
            true, unsure = space.table.compiled.judged(space.situation(point), space.offered)
            for place in space.places:
                is_unsure = bool(unsure >> place.number & 1)
                assert _in(space, list(unknown_where(space, place)), point) == is_unsure
                is_blocking = bool((true | unsure) >> place.number & 1)
                assert _in(space, list(blocking(space, place)), point) == is_blocking


def _in(space: Space, boxes: list[Box], point: Point) -> bool:
    place = space.otherwise
    return any(is_true(space, Place(place.row, 0, box, (), ()), point) for box in boxes)


IDLE = row("a", "act", state("idle"))
STOPPED = row("b", "act", state("stopped"))
DOOR = row("a", "act", reasons("any", "door-open"))
NO_DOOR = row("b", "act", reasons("none", "door-open"))
ABORTED = row("b", "well", state("idle"), job("aborted"))
MASKED: dict[str, tuple[Table, str]] = {
    "by one row": (table(IDLE, ABORTED), "b"),
    "by several together": (
        table(IDLE, STOPPED, row("c", "well", state("stopped", "idle"))),
        "c",
    ),
    # A grave row would decide where not all reasons are known.
    "by reasons and their absence": (
        table(DOOR, NO_DOOR, row("c", "well", reasons("any", "fan-failure"))),
        "c",
    ),
    "it reassures only where the row above is unsure": (
        table(row("a", "act", state("stopped")), row("b", "well", LOST)),
        "b",
    ),
}


@pytest.mark.parametrize(("made", "name"), MASKED.values(), ids=MASKED.keys())
def test_a_row_that_never_decides_is_known(made: Table, name: str) -> None:
    """Covered by others, however many it takes, or passed over whenever it is true."""
    points = deciders(asking(made))
    assert [each for each, point in points.items() if point is None] == [name]


def test_a_grave_row_decides_below_a_comfortable_one_that_is_passed_over() -> None:
    """Only where something is not known, and there the example is."""
    made = table(
        row("hot", "act", job("aborted")),
        row("fine", "well", state("idle")),
        row("look", "notice", state("idle")),
    )
    facts = situation(asking(made), deciders(asking(made))["look"])
    assert facts["state"] == "idle"
    assert str(facts["job"]).startswith("unknown")


def test_a_row_that_must_last_masks_nothing_and_leaves_a_gap() -> None:
    """Until it has lasted, the rows below it decide."""
    made = table(row("night", "resting", state("idle")), row("idle", "resting", state("idle")))
    night = replace(made.rows[0], lasting=lasting_for("wall", "night", 600_000, "10m"))
    deciding = asking(replace(made, rows=(night, *made.rows[1:])))
    assert deciding.situation(deciding.by_number[1]) is not None
    assert asking(made).situation(asking(made).by_number[1]) is None


def test_a_gap_is_where_all_is_known_and_no_row_true() -> None:
    """Catch-alls are left out: they are not a rule for anything."""
    whole = table(
        row("up", "act", state("processing")),
        row("rest", "resting", state("processing", negated=True)),
    )
    assert asking(whole).gap() is None
    found = asking(whole).gap_of_unknown()
    assert str(situation(asking(whole), found)["state"]).startswith("unknown")
    open_ = table(row("up", "act", state("processing")), row("rest", "notice"))
    assert situation(asking(open_), asking(open_).gap())["state"] in {"idle", "stopped"}


def test_a_question_that_is_too_big_is_given_up() -> None:
    """Each has a budget of its own."""
    made = MASKED["by several together"][0]
    small = asking(made, steps=1)
    with pytest.raises(UndecidedError):
        small.situation(small.by_number[2])
    assert small.situation(small.by_number[0]) is not None
