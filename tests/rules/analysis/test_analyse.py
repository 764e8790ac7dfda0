"""The whole analysis of a table."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from bridge.facts.values import Facts
from bridge.facts.vocabulary import gravity
from bridge.rules.analysis import Kind, analyse, any_offer, rows_deciding
from bridge.rules.decision import decide
from bridge.rules.table import Row, Table, alarm_stands, lasting_for
from tests.rules.analysis.building import (
    ERROR,
    RAISED,
    SILENT,
    alarmed,
    job,
    reasons,
    row,
    state,
    table,
)
from tests.rules.made_up import FACTS, table_of

SOUND = table(
    row("broken", "trouble", ERROR),
    row("low", "act", reasons("any", "material-low", "door-open")),
    row("stopped", "act", state("stopped")),
    row("silent", "unknown", SILENT),
    row("up", "well", state("processing")),
    row("rest", "resting", state("idle")),
)


def test_a_sound_table_has_little_to_say() -> None:
    """Where not all is known otherwise shows; warnings that no row names; overlaps, quietly."""
    found = [(each.kind, each.row.name, each.word, each.count) for each in analyse(SOUND, [])]
    assert found == [
        (Kind.GAP_OF_UNKNOWN, "otherwise", "", 0),
        (Kind.REASON_NOT_NAMED, "otherwise", "other-warning", 0),
        (Kind.OVERLAP, "broken", "", 12),
    ]


def test_every_kind_of_fault_is_found_once() -> None:
    """One table that has them all."""
    made = table(
        row("feed", "act", reasons("any", "material-empty")),
        row("broken", "trouble", ERROR),
        row("quiet", "resting", SILENT),
        row("stopped", "act", state("stopped")),
        row("again", "act", state("stopped")),
        row("done", "notice", state("idle"), job("completed")),
    )
    found = analyse(made, [], [{"stale": False, "state": "stopped"}])
    told = {(each.kind, each.row.name, each.other.name if each.other else "") for each in found}
    assert {
        (Kind.GAP, "otherwise", ""),
        (Kind.GRAVER_REASONS_MILDER, "feed", "broken"),
        (Kind.LOST_FACT_MILDER, "quiet", "stopped"),
        (Kind.IDENTICAL, "again", "stopped"),
        (Kind.NOT_TOLD_APART, "stopped", "quiet"),
    } <= told
    assert len(told) == len(found)


def decided_by(made: Table, facts: Facts, offered: frozenset[str]) -> Row:
    """The row as written: of a copy that cuts in, the row that it is of."""
    name = decide(made, facts, offered).row.name
    return next((each for each in made.rows if each.name == name), made.otherwise)


@pytest.mark.parametrize("seed", range(80))
def test_every_finding_with_a_situation_is_reproduced_by_the_matcher(seed: int) -> None:
    """What check prints, explain shows."""
    rng = random.Random(seed)
    made = table_of(rng, 8)
    if seed % 2:
        made = alarmed(rng, made)
    cases: list[Facts] = [{"stale": False, "state": "idle"}]
    offers = [any_offer((*rng.sample(FACTS, 6), *RAISED)), any_offer((*FACTS, *RAISED))]
    for each in analyse(made, offers, cases):
        if each.situation is None:
            continue
        decided = decided_by(made, each.situation, each.offered)
        match each.kind:
            case Kind.GAP | Kind.GAP_OF_UNKNOWN:
                assert decided is made.otherwise
            case Kind.GRAVER_REASONS_MILDER | Kind.LOST_FACT_MILDER:
                assert each.before is not None
                before = decided_by(made, each.before, each.offered)
                assert (decided, before) == (each.row, each.other)
                assert gravity(decided.says) < gravity(before.says)
            case Kind.OVERLAP_MILDER | Kind.NOT_NOTICED | Kind.CUTS_IN:
                assert decided is each.row
            case _:
                assert decided in (each.row, each.other)


def test_the_same_table_is_found_to_be_the_same() -> None:
    """Findings come in one order, whatever the order of sets."""
    made = table_of(random.Random(4), 10)
    assert analyse(made, [any_offer(FACTS)]) == analyse(made, [any_offer(reversed(FACTS))])


def test_a_question_too_big_is_told_and_the_rest_is_answered() -> None:
    """Not decided is an answer of its own."""
    made = table_of(random.Random(7), 12)
    found = [each for each in analyse(made, [], steps=2) if each.kind is Kind.NOT_DECIDED]
    assert {"gap-of-unknown", "masked", "graver-reasons-milder"} <= {each.word for each in found}
    assert len({(each.word, each.offer) for each in found}) == len(found)


def test_rows_that_must_last_leave_gaps() -> None:
    """And mask nothing."""
    made = table(row("night", "notice", state("idle")), row("rest", "notice", state("idle")),
                 row("up", "act", state("idle", negated=True)))  # fmt: skip
    kinds = {each.kind for each in analyse(made, [])}
    night = replace(made.rows[0], lasting=lasting_for("wall", "night", 600_000, "10m"))
    waiting = replace(made, rows=(night, *made.rows[1:]))
    lasting = {each.kind for each in analyse(waiting, [])}
    assert Kind.IDENTICAL in kinds
    assert Kind.IDENTICAL not in lasting


def test_the_rows_that_decide() -> None:
    """All but one that others hold, of each reader's; an alarm's before and after it was seen."""
    made = table(*SOUND.rows, row("again", "act", state("stopped")))
    facts = [each.fact for row_ in made.rows for each in row_.when]
    found = rows_deciding(made, [any_offer(facts)])
    assert [each.name for each, _ in found] == [*(each.name for each in SOUND.rows), "otherwise"]
    assert not any(is_unseen for _, is_unseen in found)
    alarm = replace(made.rows[0], when=(alarm_stands("broken"),))
    known = any_offer([*facts, "alarm broken"])
    told = rows_deciding(replace(made, rows=(alarm, *made.rows[1:])), [known])
    assert [unseen for each, unseen in told if each.name == "broken"] == [True, False]


def test_what_was_not_decided_may_decide() -> None:
    """Nothing is left out for want of steps."""
    facts = [each.fact for each_row in SOUND.rows for each in each_row.when]
    found = rows_deciding(SOUND, [any_offer(facts)], steps=1)
    assert {each.name for each, _ in found} == {*(each.name for each in SOUND.rows), "otherwise"}
