"""A table as it is read: unacknowledged alarms first, and rows that must have lasted."""

from __future__ import annotations

import pytest

from bridge.facts.values import FactValue, Unknown, Why
from bridge.rules.conditions import SymbolIs
from bridge.rules.decision import decide
from bridge.rules.table import Row, Source, Table, alarm_stands, lasting_for, prompt_stands

HERE = Source("rules.yaml", 1, 1)
JAM, EMPTY = alarm_stands("jam"), alarm_stands("empty")
STOPPED, IDLE = SymbolIs("state", frozenset({"stopped"})), SymbolIs("state", frozenset({"idle"}))
NIGHT = lasting_for("wall", "night", 600_000, "10m")
TABLE = Table(
    "wall",
    (
        Row("jammed", (JAM,), "trouble", "trouble", HERE),
        Row("empty", (EMPTY, STOPPED), "feed-me", "act", HERE),
        Row("to collect", (prompt_stands("collect"),), "fetch-me", "notice", HERE),
        Row("night", (IDLE,), "dark", "resting", HERE, NIGHT),
        Row("idle", (IDLE,), "ready", "well", HERE),
    ),
    Row("otherwise", (), "not-known", "unknown", HERE),
)
OFFERED = frozenset({"state", "alarm jam", "alarm empty", "prompt collect", NIGHT.fact})
CALM: dict[str, FactValue] = {
    "state": "idle",
    "alarm jam": "normal",
    "alarm empty": "normal",
    "prompt collect": "normal",
    NIGHT.fact: False,
}


def test_the_rows_of_unacknowledged_alarms_stand_first() -> None:
    """In their written order, then all rows as written."""
    assert [(row.name, row.cuts_in) for row in TABLE.expanded] == [
        ("jammed", True),
        ("empty", True),
        ("jammed", False),
        ("empty", False),
        ("to collect", False),
        ("night", False),
        ("idle", False),
    ]
    assert [row.alarm for row in TABLE.rows] == ["jam", "empty", None, None, None]


@pytest.mark.parametrize(
    ("facts", "rule", "cuts_in"),
    [
        ({}, "idle", False),
        ({"alarm jam": "acknowledged"}, "jammed", False),
        ({"alarm jam": "unacknowledged"}, "jammed", True),
        ({"alarm jam": "returned"}, "jammed", True),
        ({"alarm jam": "latched"}, "jammed", False),
        ({"alarm jam": "shelved"}, "idle", False),
        ({"alarm jam": "out-of-service"}, "idle", False),
        ({"alarm jam": "acknowledged", "alarm empty": "unacknowledged"}, "jammed", False),
        (
            {"alarm jam": "acknowledged", "alarm empty": "unacknowledged", "state": "stopped"},
            "empty",
            True,
        ),
        ({"prompt collect": "waiting"}, "to collect", False),
        ({NIGHT.fact: True}, "night", False),
        # Nobody knows whether the graver alarm stands: the light may not reassure.
        ({"alarm jam": Unknown(Why.UNJUDGED)}, "otherwise", False),
        ({NIGHT.fact: Unknown(Why.UNJUDGED)}, "otherwise", False),
    ],
)
def test_a_new_alarm_cuts_in_over_an_acknowledged_one(
    facts: dict[str, FactValue], rule: str, *, cuts_in: bool
) -> None:
    """And one that is not known holds back what would reassure."""
    row = decide(TABLE, CALM | facts, OFFERED).row
    assert (row.name, row.cuts_in) == (rule, cuts_in)


def test_conditions_read_as_they_are_written() -> None:
    """What `explain` shows is what stands in the file."""
    assert str(JAM) == "alarm jam"
    assert str(prompt_stands("collect")) == "prompt collect"
    assert [str(each) for each in TABLE.rows[3].tested] == ["state is idle", "it lasted 10m"]
    assert str(TABLE.expanded[0].when[0]) == "alarm jam, not acknowledged"
