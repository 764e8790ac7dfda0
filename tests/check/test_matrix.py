"""The table that a person would draw."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.check.expects import situation
from bridge.check.matrix import Matrix, matrix_of
from bridge.engine.site import Site
from bridge.rules.decision import decide
from bridge.rules.table import Expect
from tests.settings.copies import load_edited

ALARMS = """alarms:
  jam: {when: {reasons: {any: [extruder-jam]}}, sequence: R, response: clear it}
prompts:
  collect: {when: {state: idle}}
tables:
"""
ROWS = """      - {name: jam, when: {alarm: jam}, show: feed-me}
      - {name: part, when: {prompt: collect}, show: not-known}
      - {name: night, when: {state: idle, local_time: {from: 22:00}}, lasting: 10m, show: filling}
      - {name: bad, when: {reasons: {severity: {at_least: error}}}, show: not-known}
      - {name: silent"""


@pytest.fixture
def site(tmp_path: Path) -> Site:
    """The good site with all of that."""
    edits = (("rules.yaml", "tables:\n", ALARMS), ("rules.yaml", "      - {name: silent", ROWS))
    return load_edited(tmp_path, *edits)


@pytest.fixture
def matrix(site: Site) -> Matrix:
    """Its table."""
    return matrix_of(site, site.tables["wall"])


def shown(matrix: Matrix, label: str) -> dict[str, str]:
    """A row's scenes by column."""
    return dict(zip(matrix.columns, dict(matrix.rows)[label], strict=True))


def test_states_stand_down_and_reasons_and_silence_across(matrix: Matrix) -> None:
    """What is told apart, and what is like something else together with it."""
    labels = [label for label, _ in matrix.rows]
    assert [each for each in labels if "," not in each] == [
        "idle",
        "processing",
        "stopped",
        "unknown",
    ]
    assert {"nothing wrong"} < {name for column in matrix.columns for name in column.split(", ")}
    assert any("material-empty" in column for column in matrix.columns)


def test_a_reason_raises_its_alarm(matrix: Matrix) -> None:
    """As the facts of the cell say, through the matcher."""
    idle = shown(matrix, "idle")
    jam = next(column for column in matrix.columns if "extruder-jam" in column)
    assert idle[jam] == "feed-me"
    assert idle["nothing wrong"] == "ready"
    assert "jam acknowledged" in " ".join(matrix.columns)


def test_what_makes_a_difference_has_a_row_of_its_own(matrix: Matrix) -> None:
    """And nothing else has."""
    labels = {label for label, _ in matrix.rows}
    assert "idle, prompts: {collect: waiting}" in labels
    assert "processing, progress: 1" in labels
    assert not any(label.startswith("stopped, progress") for label in labels)


def test_every_cell_is_what_a_case_would_show(site: Site, matrix: Matrix) -> None:
    """The first column is nothing given but the row."""
    table = site.tables["wall"]
    for state in ("idle", "processing", "stopped"):
        facts = situation(table, Expect({"state": state}, "", table.otherwise.source))
        decided = decide(table, facts, frozenset(facts)).row.show
        assert shown(matrix, state)["nothing wrong"] == decided
