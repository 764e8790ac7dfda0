"""Findings of the analysis in words, and the example site held to what it promises."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.check.expects import expect_findings
from bridge.check.finding import Finding, Kind
from bridge.check.site import findings
from bridge.check.tables import readers_of, table_findings
from bridge.engine.site import Site
from bridge.facts.values import Unknown, Why
from bridge.rules.conditions import Keyword, ReasonsHave, SymbolIs
from bridge.rules.table import Row, Source, Table
from bridge.settings.load import load_site

CLUB = load_site(Path(__file__).parents[2] / "config")
WALL = CLUB.tables["wall"]
HERE = Source("rules.yaml", 99, 9)
IDLE = SymbolIs("state", frozenset({"idle"}))
GONE = Unknown(Why.NOT_HEARD)


def with_rows(rows: tuple[Row, ...]) -> Site:
    """The example site with other rows in its table."""
    return replace(CLUB, tables={"wall": replace(WALL, rows=rows)})


def bad(site: Site) -> list[Finding]:
    """What must be mended."""
    return [each for each in findings(site) if each.severity != "note"]


def test_the_example_site_is_fine() -> None:
    """Notes only."""
    assert bad(CLUB) == []


EVERY_RULE = [(table, row) for table in CLUB.tables.values() for row in table.rows]


@pytest.mark.parametrize(("table", "row"), EVERY_RULE)
def test_the_loss_of_any_rule_of_the_example_is_noticed(table: Table, row: Row) -> None:
    """By an expect case that shows something else, as a deleted line would."""
    kept = tuple(each for each in table.rows if each is not row)
    spoilt = [
        each for each in expect_findings(replace(table, rows=kept)) if each.severity == "error"
    ]
    assert spoilt
    assert all(each.kind is Kind.EXPECT and each.example for each in spoilt)


@pytest.mark.parametrize("table", CLUB.tables.values(), ids=lambda table: table.name)
def test_moving_a_rule_of_the_example_past_one_that_matters_is_noticed(table: Table) -> None:
    """Every move of every rule either fails a case, or no situation shows another scene by it."""
    silent = []
    for row, place in itertools.product(table.rows, range(len(table.rows))):
        rows = [each for each in table.rows if each is not row]
        rows.insert(place, row)
        moved = replace(table, rows=tuple(rows))
        if not [each for each in expect_findings(moved) if each.severity == "error"]:
            silent.append((row, moved))
    assert len(silent) < len(table.rows) ** 2 / 2
    for row, moved in silent:
        told = [each for each in table_findings(replace(CLUB, tables={table.name: moved}))
                if each.kind is Kind.NOT_TOLD_APART]  # fmt: skip
        assert told == [], row.name


def _row(name: str, show: str, *when: object) -> Row:
    says = CLUB.scenes[show].says
    return Row(name, when, show, says, HERE)  # type: ignore[arg-type]


def _first(row: Row) -> tuple[Row, ...]:
    return (row, *WALL.rows)


def _last(row: Row) -> tuple[Row, ...]:
    return (*WALL.rows, row)


def _without(*names: str) -> tuple[Row, ...]:
    return tuple(each for each in WALL.rows if each.name not in names)


LOW = ReasonsHave("any", (Keyword("material-low"),))
EMPTY = ReasonsHave("any", (Keyword("material-empty"),))
JAM = ReasonsHave("any", (Keyword("extruder-jam"),))
WORN = SymbolIs("site-belt", frozenset({"worn"}))
ANY_STATE = SymbolIs("state", frozenset({"idle", "processing", "stopped"}), unknown=True)
UNSURE = SymbolIs("state", frozenset({"idle"}), unknown=True)
SPOILT: dict[str, tuple[Callable[[], tuple[Row, ...]], Kind, str, str]] = {
    "a state forgotten": (
        lambda: _without("stopped"), Kind.GAP, "warning", "table wall has no rule for this"),
    "a rule after one that holds it": (
        lambda: _last(_row("again", "ready", IDLE)), Kind.MASKED, "error",
        "rule 'again' never decides, it has the same conditions as rule 'idle' above it"),
    "a rule after a catch-all": (
        lambda: _first(_row("whatever", "not-known", ANY_STATE)), Kind.MASKED, "error",
        "rule 'idle' never decides, rule 'whatever' above it always does before"),
    "a rule that waits for what nobody tells": (
        lambda: _first(_row("worn", "see-me", WORN)), Kind.NEVER_DECIDES, "note",
        "rule 'worn' never decides for the readers that use table wall"),
    "a keyword that nobody sends": (
        lambda: _first(_row("low", "trouble", LOW)), Kind.REASON_NOT_SENT, "warning",
        "rule 'low' waits for material-low"),
    "comfort in not knowing": (
        lambda: _first(_row("at rest", "ready", UNSURE)), Kind.MILDER, "error",
        "rule 'at rest' (resting) takes the place of"),
    "the spool before the jam": (
        lambda: (_row("spool", "feed-me", EMPTY), _row("jam", "trouble", JAM), *WALL.rows),
        Kind.MILDER, "warning",
        "rule 'spool' (act) takes the place of rule 'jam' (trouble) when a reason more"),
    "an alarm that hides something graver": (
        lambda: _first(_row("jam", "trouble", JAM)), Kind.OVERLAP, "warning",
        "rule 'out of material' (act) hides the graver rule 'jam' (trouble) until somebody "),
    "the milder scene wins": (
        lambda: _first(_row("at rest", "ready", IDLE)), Kind.OVERLAP, "warning",
        "rule 'at rest' (resting) decides before the graver rule 'broken' (trouble)"),
    "quiet overlaps": (
        lambda: WALL.rows, Kind.OVERLAP, "note", "pairs of rules can hold at once"),
}  # fmt: skip


@pytest.mark.parametrize(("rows", "kind", "severity", "words"), SPOILT.values(), ids=SPOILT.keys())
def test_what_is_wrong_with_a_table_is_said(
    rows: Callable[[], tuple[Row, ...]], kind: Kind, severity: str, words: str
) -> None:
    """With the rule, what to do about it, and an example where there is one."""
    found = [each for each in table_findings(with_rows(rows())) if words in each.message]
    assert found, [str(each) for each in table_findings(with_rows(rows()))]
    assert {(each.kind, each.severity) for each in found} == {(kind, severity)}
    assert {each.source.file for each in found} == {"rules.yaml"}


def test_errors_that_nobody_names_are_told() -> None:
    """Neither a rule nor an alarm that is shown."""
    kept = {name: each for name, each in CLUB.alarms.items() if name != "broken"}
    found = [
        each
        for each in table_findings(replace(CLUB, alarms=kept))
        if each.kind is Kind.REASON_NOT_NAMED
    ]
    assert {each.severity for each in found} == {"warning"}
    assert any("reader pieces can tell of cover-open-error" in each.message for each in found)


def test_a_case_that_is_missing_is_proposed() -> None:
    """In the words in which it would be written."""
    kept = tuple(case for case in WALL.expect if "stale" not in case.given)
    site = replace(CLUB, tables={"wall": replace(WALL, expect=kept)})
    found = [each for each in table_findings(site) if each.kind is Kind.NOT_TOLD_APART]
    assert found
    assert all(each.example.startswith("{") for each in found)


def test_a_rule_that_only_says_why_is_no_finding() -> None:
    """What otherwise shows anyway may be named."""
    lost = SymbolIs("state", frozenset(), unknown=True)
    site = with_rows(_last(_row("says nothing", "not-known", lost)))
    assert [each for each in table_findings(site) if each.kind is Kind.SUBSUMED] == []


def test_what_is_left_to_a_grave_otherwise_is_noted() -> None:
    """Whoever lets otherwise say more than that it does not know should see when it does."""
    otherwise = Row("otherwise", (), "see-me", "act", HERE)
    site = replace(CLUB, tables={"wall": replace(WALL, otherwise=otherwise)})
    found = [each for each in table_findings(site) if each.kind is Kind.GAP]
    assert {each.severity for each in found} == {"note"}


def test_each_reader_of_a_table_is_looked_at_once() -> None:
    """Several printers, and several segments of one, may share it."""
    assert [reader.name for reader in readers_of(CLUB, WALL)] == ["pieces", "ledger", "log-book"]
    unused = Table("spare", (), WALL.otherwise)
    assert readers_of(CLUB, unused) == ()
