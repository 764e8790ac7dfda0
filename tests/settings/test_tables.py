"""Decision tables from the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.rules.conditions import SymbolIs
from bridge.rules.table import alarm_stands, lasting_for, prompt_stands
from bridge.settings.load import load_site
from tests.settings.copies import GOOD, load_edited, wrong

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
    ("when: {stale: true}, show: not-known", "when: {alarm: x}, show: ready", "5:38: alarm: 'x'"),
    ("show: filling", "show: fillin", "7:58: show: 'fillin' is no scene"),
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


ALARMS = """alarms:
  slow: {when: {in_state: {at_least: 2h}}, priority: low, response: look}
  jam: {when: {reasons: {any: [extruder-jam]}}, priority: high, response: clear it}
prompts:
  collect: {when: {last-job: completed}}
"""
ROWS = """      - {name: jam, when: {alarm: jam, state: stopped}, show: feed-me}
      - {name: slow, when: {alarm: slow}, show: not-known}
      - {name: fetch, when: {prompt: collect}, lasting: 90s, show: ready}
      - {name: silent"""
MORE = (("rules.yaml", "tables:", f"{ALARMS}tables:"), (RULES, "      - {name: silent", ROWS))


def test_a_rule_may_name_an_alarm_or_a_prompt_and_wait(tmp_path: Path) -> None:
    """They are facts like others; what lasts carries how long, as it was written."""
    jam, slow, fetch = load_edited(tmp_path, *MORE).tables["wall"].rows[1:4]
    assert jam.when == (alarm_stands("jam"), SymbolIs("state", frozenset({"stopped"})))
    assert (jam.alarm, slow.alarm, fetch.alarm) == ("jam", "slow", None)
    assert fetch.when == (prompt_stands("collect"),)
    assert fetch.lasting == lasting_for("wall", "fetch", 90_000, "90s")


REFUSED_ALARMS = [
    ("{alarm: jam, state: stopped}, show: feed-me", "{alarm: jam}, show: ready", "10:47: show: "),
    (
        "{alarm: jam, state: stopped}",
        "{alarm: [jam]}",
        "10:35: alarm: is a list, expected the",
    ),
    (
        "{prompt: collect}, lasting: 90s",
        "{prompt: collect}, lasting: 0s",
        "12:57: lasting: '0s'",
    ),
    ("{prompt: collect}, lasting: 90s", "{prompt: collect}, lasting: 90", "12:57: lasting: 90"),
]


@pytest.mark.parametrize(("old", "new", "start"), REFUSED_ALARMS)
def test_a_wrong_rule_about_an_alarm_is_told(
    old: str, new: str, start: str, tmp_path: Path
) -> None:
    """It may not reassure, is one at a time, and a wait is a time."""
    (line,) = wrong(tmp_path, *MORE, (RULES, old, new))
    assert line.startswith(f"rules.yaml:{start}")


PRIORITIES_DOWN = [
    ("high", "low", []),
    ("high", "high", []),
    ("medium", "high", ["slow"]),
    ("low", "medium", ["slow"]),
]


@pytest.mark.parametrize(("first", "second", "told"), PRIORITIES_DOWN)
def test_priorities_may_not_rise_down_the_list(
    first: str, second: str, told: list[str], tmp_path: Path
) -> None:
    """Else a lesser alarm that nobody acknowledged hides a greater one."""
    high = (RULES, "priority: high", f"priority: {first}")
    low = (RULES, "priority: low", f"priority: {second}")
    lines = wrong(tmp_path, *MORE, high, low)
    assert [line.split("'")[1] for line in lines] == told
    assert all(f"of priority {first} in line 10: move the rule up" in line for line in lines)
