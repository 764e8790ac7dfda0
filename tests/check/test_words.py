"""Situations in the words in which a case would give them."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.check.expects import situation
from bridge.check.words import given_words
from bridge.facts.reasons import parse_reason
from bridge.facts.values import FactValue, Reasons, Unknown, Why
from bridge.rules.table import lasting_for
from tests.settings.copies import load_edited

GONE = Unknown(Why.NOT_HEARD)
LONG = lasting_for("wall", "long enough", 1000, "1s").fact
ODD = lasting_for("wall", "long: more, or less", 1000, "1s").fact
WORDS: list[tuple[dict[str, FactValue], str]] = [
    ({"stale": False, "link": "up", "reasons": Reasons(())}, "{}"),
    ({"state": "idle", "stale": True, "link": "down"}, "{state: idle, stale: true, link: down}"),
    ({"job": GONE, "reasons": Reasons((), GONE)}, "{job: unknown, reasons: unknown}"),
    (
        {"reasons": Reasons((parse_reason("door-open-error"),), GONE)},
        "{reasons: [door-open-error] and perhaps more}",
    ),
    ({"progress": 0.25, "layer": 3.0}, "{progress: 0.25, layer: 3}"),
    (
        {"chamber-temperature": 41.5, "time-to-completion": 90.0},
        "{chamber-temperature: 41.5 °C, time-to-completion: 90s}",
    ),
    ({"site-belt": True, "site-lid": "shut"}, "{site-belt: true, site-lid: shut}"),
    (
        {"alarm jam": "latched", "state": "idle", "alarm low": GONE, "alarm off": "normal"},
        "{state: idle, alarms: {jam: latched, low: unknown}}",
    ),
    ({"prompt collect": "waiting", "prompt look": "normal"}, "{prompts: {collect: waiting}}"),
    ({LONG: True}, "{lasting: [long enough]}"),
    ({LONG: False, ODD: True}, '{lasting: ["long: more, or less"]}'),
    ({"local-time": 83_400.0, "time-in-state": 1200.0}, '{local_time: "23:10", in_state: 20m}'),
    ({"local-time": GONE, "time-unchanged": 0.0}, "{local_time: unknown, unchanged_for: 0s}"),
    ({"last-job": "completed"}, "{last-job: completed}"),
]


@pytest.mark.parametrize(("facts", "words"), WORDS)
def test_a_situation_is_written_as_a_case_gives_it(facts: dict[str, FactValue], words: str) -> None:
    """Without what need not be given, and with units."""
    assert given_words(facts) == words


def test_a_written_situation_reads_as_the_same_one(tmp_path: Path) -> None:
    """What check proposes can be put into the file."""
    given = "given: {state: processing, progress: 0.4}, shows: filling"
    jam = "alarms: {jam: {when: {state: stopped}, response: go}}\ntables:"
    rule = "- {name: jam, when: {alarm: jam}, show: feed-me}\n      - {name: silent"
    words = '{state: idle, in_state: 20m, local_time: "23:10", alarms: {jam: shelved}}'
    site = load_edited(
        tmp_path,
        ("rules.yaml", "tables:", jam),
        ("rules.yaml", "- {name: silent", rule),
        ("rules.yaml", given, f"given: {words}, shows: ready"),
    )
    table = site.tables["wall"]
    assert given_words(situation(table, table.expect[0])) == words
