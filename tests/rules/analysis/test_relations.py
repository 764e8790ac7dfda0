"""Meeting and holding for all pairs at once, against pair by pair."""

from __future__ import annotations

from bridge.rules.analysis.relations import Relations, rows_in
from tests.rules.analysis.building import (
    asking,
    job,
    made_tables,
    reasons,
    row,
    state,
    table,
)


def test_all_pairs_at_once_are_as_each_pair_by_itself() -> None:
    """Boxes compared one with the other say the same."""
    for _, deciding in made_tables(range(150)):
        space, relations = deciding.space, deciding.relations
        frame = space.frame
        live = [p for p in space.places if not p.hopeless and not frame.is_empty(p.true)]
        for one in live:
            meets = [o.number for o in live if not frame.is_empty(one.true.meet(o.true))]
            holds = [o.number for o in live if o.true.holds(one.true)]
            assert rows_in(relations.meets[one.number]) == meets
            assert rows_in(relations.held_by[one.number]) == holds


def test_rows_cross_where_neither_holds_the_other() -> None:
    """Same row twice, one inside another and two apart are no crossing."""
    made = table(
        row("empty", "act", reasons("any", "material-empty")),
        row("stopped", "act", state("stopped")),
        row("stopped again", "act", state("stopped")),
        row("stopped, aborted", "act", state("stopped"), job("aborted")),
        row("idle", "resting", state("idle")),
    )
    relations = asking(made).relations
    assert rows_in(relations.crossing(0)) == [1, 2, 3, 4]
    assert rows_in(relations.crossing(1)) == []
    assert rows_in(relations.held_by[3]) == [1, 2, 3]


def test_a_table_without_rows_relates_nothing() -> None:
    """It is no error."""
    space = asking(table()).space
    relations = Relations(space.frame, space.places, 0)
    assert (relations.every, relations.meets) == (0, [])
