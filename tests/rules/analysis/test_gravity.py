"""Graver or unknown, and milder: held to the matcher both ways."""

from __future__ import annotations

import pytest

from bridge.facts.truth import Truth
from bridge.facts.values import FactValue
from bridge.facts.vocabulary import COMFORTABLE, gravity
from bridge.rules.analysis.boxes import Box, Point
from bridge.rules.analysis.gravity import (
    Milder,
    Milding,
    after_loss,
    losses_of,
    shifted,
    steps_of,
)
from bridge.rules.decision import decide
from bridge.rules.table import Table
from tests.rules.analysis.building import (
    ERROR,
    LOST,
    SILENT,
    any_point,
    asking,
    job,
    made_tables,
    progress,
    reasons,
    row,
    state,
    table,
)


def milder(milding: Milding) -> dict[tuple[int, int], Milder]:
    """Every pair of rows that some step of the reasons leads down."""
    found: dict[tuple[int, int], Milder] = {}
    for shown, before, step in milding.by_reasons():
        pair = (shown.number, before.number)
        if pair not in found and (each := milding.with_reason(shown, before, step)):
            found[pair] = each
    return found


def comforting(milding: Milding) -> dict[tuple[int, int], Milder]:
    """Every pair of rows that some loss leads down to a row that reassures."""
    found: dict[tuple[int, int], Milder] = {}
    for shown, before, loss in milding.by_loss():
        pair = (shown.number, before.number)
        if pair not in found and (each := milding.with_loss(shown, before, loss)):
            found[pair] = each
    return found


def test_every_example_shows_it_and_none_is_missed() -> None:
    """The matcher decides as the finding says, and a situation by chance is never worse."""
    stepped = lost = 0
    for rng, deciding in made_tables(range(200)):
        space, made = deciding.space, deciding.space.table
        milding = Milding(deciding)
        by_reasons, by_loss = milder(milding), comforting(milding)
        for each in [*by_reasons.values(), *by_loss.values()]:
            before = decide(made, each.from_situation, space.offered).row
            after = decide(made, each.to_situation, space.offered).row
            assert (before, after) == (each.before.row, each.shown.row)
        stepped, lost = stepped + len(by_reasons), lost + len(by_loss)
        rows, steps, losses = [*made.rows, made.otherwise], steps_of(space), losses_of(space)
        for _ in range(60):
            point = any_point(rng, space, known=True)
            if steps:
                step = rng.choice(steps)
                base = Point(point.atoms, point.reasons & ~(step.goes | step.comes))
                gone = () if step.gone is None else (step.gone,)
                pair = _pair(
                    made,
                    space.situation(base, gone),
                    space.situation(base, (step.come,)),
                    space.offered,
                )
                assert pair is None or pair in by_reasons
            if losses:
                facts = space.situation(point)
                after_ = {**facts, **dict(rng.choice(losses).after)}
                pair = _pair(made, facts, after_, space.offered)
                assert pair is None or rows[pair[0]].says not in COMFORTABLE or pair in by_loss
    assert stepped > 100
    assert lost > 50


def _pair(
    made: Table,
    before: dict[str, FactValue],
    after: dict[str, FactValue],
    offered: frozenset[str],
) -> tuple[int, int] | None:
    """The rows shown after and before, where the scene gets milder."""
    rows = [*made.rows, made.otherwise]
    old, new = decide(made, before, offered).row, decide(made, after, offered).row
    if gravity(new.says) >= gravity(old.says):
        return None
    return rows.index(new), rows.index(old)


EMPTY = reasons("any", "material-empty")
CASES: dict[str, tuple[Table, list[tuple[str, str]]]] = {
    "the spool before the jam": (
        table(row("feed", "act", EMPTY), row("jam", "trouble", ERROR)),
        [("feed", "jam")],
    ),
    "the jam before the spool": (
        table(row("jam", "trouble", ERROR), row("feed", "act", EMPTY)),
        [],
    ),
    "an error that no row is about takes a warning's place": (
        table(row("low", "act", reasons("any", "material-low=warning"))),
        [("otherwise", "low")],
    ),
    "a row that refuses gives way to a milder one below": (
        table(row("stuck", "act", state("stopped"), reasons("none", "door-open")),
              row("rest", "notice", state("stopped"))),
        [("rest", "stuck")],
    ),
    "inside the graver one": (
        table(row("low", "notice", state("stopped"), reasons("any", "material-low")),
              row("stopped", "act", state("stopped"))),
        [("low", "stopped")],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("made", "pairs"), CASES.values(), ids=CASES.keys())
def test_graver_reasons_and_a_milder_scene(made: Table, pairs: list[tuple[str, str]]) -> None:
    """One reason more, or one that turned graver, and the rows before and after."""
    found = milder(Milding(asking(made))).values()
    assert [(each.shown.row.name, each.before.row.name) for each in found] == pairs


STOPPED = row("stopped", "act", state("stopped"))
KNOWN = state(unknown=True, negated=True)
LOSSES: dict[str, tuple[Table, list[tuple[str, str]]]] = {
    "the word unknown in a row that reassures": (
        table(row("fine", "resting", state("idle", unknown=True)), STOPPED),
        [("fine", "stopped"), ("fine", "otherwise")],
    ),
    "silence that reassures": (
        table(row("quiet", "resting", SILENT), row("stopped", "act", state("stopped"))),
        [("quiet", "stopped"), ("quiet", "otherwise")],
    ),
    "passed over while the graver row cannot be judged": (
        table(row("stopped", "act", state("stopped")), row("rest", "resting", job("no-value"))),
        [],
    ),
    "a row that is false of the unknown holds nothing back": (
        table(row("there", "act", KNOWN), row("half", "well", progress(0.5))),
        [("half", "there")],
    ),
    "unknown is no comfort": (
        table(row("gone", "unknown", LOST), row("stopped", "act", state("stopped"))),
        [],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("made", "pairs"), LOSSES.values(), ids=LOSSES.keys())
def test_a_lost_fact_and_a_scene_that_reassures(made: Table, pairs: list[tuple[str, str]]) -> None:
    """Only what reassures counts: to show *unknown* is what not knowing is for."""
    found = comforting(Milding(asking(made))).values()
    assert sorted((each.shown.row.name, each.before.row.name) for each in found) == sorted(pairs)


def test_steps_are_one_reason_more_or_one_graver() -> None:
    """Reports come and go; a warning may turn into an error that another row is about."""
    made = table(
        row("a", "act", reasons("any", "door-open=warning")),
        row("b", "act", reasons("any", "door-open=error", "fan-failure=report")),
    )
    steps = steps_of(asking(made).space)
    told = [(step.gone.said if step.gone else "", step.come.said) for step in steps]
    assert ("", "door-open") in told
    assert ("", "door-open-warning") in told
    assert ("door-open-warning", "door-open") in told
    assert all(come != "fan-failure-report" for _, come in told)


def test_what_there_is_satisfies_and_refuses() -> None:
    """Clauses that are hit are gone, a row that refuses it is false."""
    assert shifted(Box(1, (0b01, 0b10), 0b100), 0b01) == Box(1, (0b10,), 0b100)
    assert shifted(Box(1, (0b01,), 0b100), 0b100) is None


def test_a_loss_makes_a_row_unknown_true_or_false() -> None:
    """As far as the lost facts go; everything is lost at once when the link goes."""
    made = table(
        row("a", "act", state("idle")),
        row("b", "act", LOST),
        row("c", "act", state(unknown=True, negated=True)),
        row("d", "act", job("completed"), SILENT),
    )
    space = asking(made).space
    alone, *_, whole = losses_of(space)
    truths = [after_loss(space, place, alone) for place in space.places]
    assert truths == [Truth.UNKNOWN, Truth.TRUE, Truth.FALSE, Truth.TRUE]
    assert set(dict(whole.after)) == {"state", "job", "stale"}
    assert dict(whole.after)["stale"] is True
