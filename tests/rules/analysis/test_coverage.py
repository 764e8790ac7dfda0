"""Gaps, rows that never decide, and rows that add nothing."""

from __future__ import annotations

import random

import pytest

from bridge.facts.vocabulary import JOB_STATES
from bridge.rules.analysis.coverage import gaps, never_deciding, subsumed, without
from bridge.rules.analysis.finding import Kind
from bridge.rules.analysis.offers import Offer, Values
from bridge.rules.conditions import Condition
from bridge.rules.decision import decide
from bridge.rules.table import Row, Table
from tests.rules.analysis.building import (
    FRESH,
    SILENT,
    asking,
    job,
    progress,
    row,
    situation,
    state,
    table,
)

ONLY_STATE = Offer("plain", {"state": Values(("idle", "stopped")), "link": Values(("up",))})

IDLE, STOPPED = row("idle", "resting", state("idle")), row("stopped", "act", state("stopped"))
GAPS: dict[str, tuple[Table, list[Kind]]] = {
    "nothing forgotten": (table(IDLE, STOPPED), [Kind.GAP_OF_UNKNOWN]),
    "a state forgotten": (table(STOPPED), [Kind.GAP, Kind.GAP_OF_UNKNOWN]),
    "nothing left": (table(IDLE, STOPPED, row("gone", "unknown", state(unknown=True))), []),
}


@pytest.mark.parametrize(("made", "kinds"), GAPS.values(), ids=GAPS.keys())
def test_a_gap_comes_with_a_situation(made: Table, kinds: list[Kind]) -> None:
    """Two kinds: forgotten although all is known, and left to ``otherwise`` for not knowing."""
    found = list(gaps(asking(made, ONLY_STATE)))
    assert [each.kind for each in found] == kinds
    for each in found:
        assert each.offer == "plain"
        assert each.situation is not None
        assert decide(made, each.situation, each.offered).row is made.otherwise


def test_a_gap_that_is_too_big_a_question_is_said_to_be() -> None:
    """Neither found nor ruled out."""
    rng = random.Random(5)
    whole = [row(f"part {n}", "act", *part) for n, part in enumerate(_parts(rng))]
    found = list(gaps(asking(table(*whole), steps=3)))
    assert [(each.kind, each.word) for each in found] == [
        (Kind.NOT_DECIDED, "gap"),
        (Kind.GAP_OF_UNKNOWN, ""),
    ]


def _parts(rng: random.Random) -> list[tuple[Condition, ...]]:
    """Every combination of four facts, so that only looking at all of them shows it is whole."""
    parts: list[tuple[Condition, ...]] = [
        (state(one), job(other), progress(n / 10 or None, None if n == 9 else (n + 1) / 10), late)
        for one in ("idle", "processing", "stopped")
        for other in JOB_STATES
        for n in range(10)
        for late in (SILENT, FRESH)
    ]
    rng.shuffle(parts)
    return parts


TWICE = row("again", "act", state("stopped"))
ANYTHING_ELSE = row("not idle", "act", state("idle", negated=True))
SAME_IN_OTHER_WORDS = row("other words", "act", state("processing", "stopped"))
NEVER: dict[str, tuple[list[Row], list[tuple[Kind, str, str | None]]]] = {
    "all decide": ([IDLE, STOPPED], []),
    "the same again": ([STOPPED, TWICE], [(Kind.IDENTICAL, "again", "stopped")]),
    "the same in other words": (
        [ANYTHING_ELSE, SAME_IN_OTHER_WORDS],
        [(Kind.EQUIVALENT, "other words", "not idle")],
    ),
    "inside another": (
        [ANYTHING_ELSE, STOPPED],
        [(Kind.MASKED, "stopped", "not idle")],
    ),
    "inside two together": (
        [IDLE, STOPPED, row("either", "act", state("idle", "stopped"))],
        [(Kind.MASKED, "either", None)],
    ),
    "after a catch-all": (
        [row("always", "notice"), STOPPED],
        [(Kind.MASKED, "stopped", "always")],
    ),
}


@pytest.mark.parametrize(("rows", "findings"), NEVER.values(), ids=NEVER.keys())
def test_a_row_that_never_decides_is_named_with_what_covers_it(
    rows: list[Row], findings: list[tuple[Kind, str, str | None]]
) -> None:
    """By one row, the same or a wider one, or by several."""
    every = asking(table(*rows))
    found = [
        (each.kind, each.row.name, each.other.name if each.other else None)
        for each in never_deciding(every.space.table, [], lambda: every)
    ]
    assert found == findings


def test_a_row_that_no_reader_in_use_can_bring_about_is_told_apart_from_a_masked_one() -> None:
    """Another reader might: the row is not wrong, only idle."""
    made = table(row("aborted", "act", job("aborted")), STOPPED, TWICE)
    used = [asking(made, ONLY_STATE)]
    found = [
        (each.kind, each.row.name) for each in never_deciding(made, used, lambda: asking(made))
    ]
    assert found == [(Kind.NEVER_FOR_READERS, "aborted"), (Kind.IDENTICAL, "again")]


SEE = row("stopped", "act", state("stopped"), show="see")
LATE = row("late", "act", SILENT, state("stopped"), show="see")
GONE = row("gone", "unknown", state(unknown=True), show="not-known")
KNOWN_STOPPED = state("idle", "processing", unknown=True, negated=True)
SUBSUMED: dict[str, tuple[list[Row], list[str]]] = {
    "each matters": ([IDLE, STOPPED], []),
    "the next shows the same": ([LATE, SEE], ["late"]),
    "something else comes between": ([LATE, row("quiet", "notice", SILENT), SEE], []),
    "as otherwise": ([IDLE, GONE], ["gone"]),
    "it holds comfort back while it cannot be judged": (
        [SEE, row("known", "act", KNOWN_STOPPED, show="see"), row("half", "well", progress(0.5))],
        ["known"],
    ),
}


@pytest.mark.parametrize(("rows", "names"), SUBSUMED.values(), ids=SUBSUMED.keys())
def test_a_row_without_which_the_same_scenes_show(rows: list[Row], names: list[str]) -> None:
    """Where nothing would change if it were gone, the rows that reassure below it included."""
    made = table(*rows)
    assert [each.row.name for each in subsumed(made, [asking(made)])] == names


def test_where_a_row_matters_another_scene_would_show() -> None:
    """The situation decides otherwise once the row is gone."""
    made = table(STOPPED, IDLE)
    deciding = asking(made)
    facts = situation(deciding, without(deciding, deciding.by_number[0]))
    assert decide(made, facts, deciding.space.offered).row is STOPPED
    assert decide(table(IDLE), facts, deciding.space.offered).row.show == "not-known"
