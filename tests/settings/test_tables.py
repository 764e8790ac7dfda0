"""Decision tables from the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.settings.load import load_site
from tests.settings.copies import GOOD, wrong

RULES = "rules.yaml"


def test_rows_carry_what_their_scene_says_and_where_they_stand() -> None:
    """In written order; otherwise stands beside them."""
    table = load_site(GOOD).tables["wall"]
    assert [(row.name, row.show, row.says, row.source.line) for row in table.rows] == [
        ("out of material", "feed-me", "act", 4),
        ("silent", "not-known", "unknown", 5),
        ("nearly", "ready", "well", 6),
        ("filling", "filling", "well", 7),
        ("idle", "ready", "well", 8),
    ]
    assert (table.otherwise.show, table.otherwise.says) == ("not-known", "unknown")
    assert table.otherwise.when == ()
    assert str(table.otherwise.source) == "rules.yaml:9:16"
    assert [(case.shows, case.source.line) for case in table.expect] == [
        ("filling", 11),
        ("feed-me", 12),
    ]


REFUSED = [
    ("otherwise: not-known", "otherwise: warm", "9:16: otherwise: 'warm' says resting"),
    ("otherwise: not-known", "otherwise: ready", "9:16: otherwise: 'ready' says well"),
    ("show: filling", "show: fillin", "7:58: show: 'fillin' is no scene"),
    ("show: filling", "show: hand-back", "7:58: show: hand-back is part of the grammar"),
    ("name: idle", "name: filling", "8:16: name: 'filling' is also the name of the rule in line 7"),
    ("name: idle", "name: FILLING", "8:16: name: 'FILLING' is also the name of the rule in line 7"),
    ("shows: filling", "shows: full", "11:60: shows: 'full' is no scene"),
    ("  wall:", "  wall: {rules: [], otherwise: x}\n  w2:", "2:17: rules: is empty, expected at"),
]


@pytest.mark.parametrize(("old", "new", "start"), REFUSED)
def test_a_wrong_table_is_told(old: str, new: str, start: str, tmp_path: Path) -> None:
    """A catch-all may not be a comfortable lie; rules have names of their own."""
    lines = wrong(tmp_path, (RULES, old, new))
    assert lines[0].startswith(f"rules.yaml:{start}")


def test_a_scene_with_a_problem_makes_no_second_one(tmp_path: Path) -> None:
    """It is known by name, even if nobody knows what it says."""
    (line,) = wrong(tmp_path, ("legend.yaml", "says: unknown", "says: unknwon"))
    assert line.startswith("legend.yaml:7:21: says: is 'unknwon'")
