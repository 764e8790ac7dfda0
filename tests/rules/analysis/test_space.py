"""The space of a table, held to the matcher situation by situation."""

from __future__ import annotations

import pytest

from bridge.facts.values import Reason, Reasons, Severity
from bridge.rules.analysis.boxes import Point
from bridge.rules.analysis.offers import Offer, Values, World
from bridge.rules.analysis.space import Place, Space
from tests.rules.analysis.building import (
    FRESH,
    alarmed_tables,
    any_point,
    asking,
    job,
    made_tables,
    reasons,
    row,
    state,
    table,
)


def is_true(space: Space, place: Place, point: Point) -> bool:
    """Whether a row is true in a situation, read off its box."""
    box = place.true
    there = all(space.frame.atoms(box, axis) >> atom & 1 for axis, atom in enumerate(point.atoms))
    hit = all(clause & point.reasons for clause in box.clauses)
    return there and hit and not box.refused & point.reasons and not place.hopeless


def test_a_row_is_true_in_its_box_and_nowhere_else() -> None:
    """As the compiled columns judge the same situation."""
    tried = 0
    for rng, deciding in (*made_tables(range(200)), *alarmed_tables(range(200))):
        space = deciding.space
        for _ in range(20):
            point = any_point(rng, space)
            facts = space.situation(point)
            true, _ = space.table.compiled.judged(facts, space.offered)
            boxes = sum(1 << place.number for place in space.places if is_true(space, place, point))
            assert boxes == true
            tried += 1
    assert tried == 8000


def test_reasons_are_told_apart_only_where_a_row_does() -> None:
    """One of each kind stands for all, the gravest; what no row is about has no bit."""
    space = asking(
        table(
            row("a", "act", reasons("any", "door-open=error")),
            row("b", "act", reasons("none", "fan-failure")),
        )
    ).space
    assert [reason.said for reason in space.reasons] == ["door-open", "fan-failure"]
    assert {reason.severity for reason in space.reasons} == {Severity.ERROR}
    assert len(space.all_reasons) == 12


READER = Offer(
    "made up",
    {
        "state": Values(("idle", "stopped")),
        "stale": Values(truths=True, unknown=False),
        "link": Values(("up", "down")),
    },
    (
        World({"stale": False}, unsaid={"link": "down"}),
        World({"link": "down"}, frozenset({"state"})),
    ),
)


def test_a_fact_that_is_never_offered_leaves_a_row_hopeless_or_false() -> None:
    """It has no axis: a row that it leaves unknown can never be true."""
    made = table(
        row("a", "act", job("aborted"), state("idle")),
        row("b", "act", state("idle")),
        row("c", "act", reasons("any", "door-open")),
    )
    space = Space(made, READER)
    assert [axis.fact for axis in space.axes] == ["state"]
    assert [(place.row.name, place.hopeless) for place in space.places] == [
        ("a", True),
        ("b", False),
        ("c", True),
    ]


def test_a_world_fixes_and_loses_facts() -> None:
    """Cut off, nothing is known; heard, the link is not down."""
    space = Space(table(row("a", "act", state("idle"), FRESH)), READER)
    heard, cut_off = (space.region(world) for world in READER.worlds)
    state_axis, stale_axis = space.index_of("state"), space.index_of("stale")
    assert (state_axis, stale_axis) == (0, 1)
    assert space.frame.atoms(heard, 0) == space.axes[0].every
    assert space.frame.atoms(heard, 1) == space.axes[1].where(False)  # noqa: FBT003
    assert space.frame.atoms(cut_off, 0) == space.axes[0].unknown
    assert space.frame.is_empty(space.region(READER.worlds[1], known=True))
    assert space.index_of("job") is None


@pytest.mark.parametrize("complete", [True, False])
def test_a_point_gives_facts_as_the_matcher_takes_them(complete: bool) -> None:
    """With reasons by what they say, and one more where it is asked for."""
    space = asking(table(row("a", "act", reasons("any", "door-open=error")))).space
    more = Reason("fan-failure", Severity.WARNING, "fan-failure-warning")
    atoms = (0 if complete else 1,)
    (value,) = space.situation(Point(atoms, 1), (more,)).values()
    assert isinstance(value, Reasons)
    assert [reason.said for reason in value.known] == ["door-open", "fan-failure-warning"]
    assert value.complete is complete
