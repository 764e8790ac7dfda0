"""What can be known of a printer, its alarms and the bridge's memory included."""

from __future__ import annotations

from dataclasses import replace

from bridge.engine.offered import applies, facts_of, offered_by, remembered
from bridge.facts.values import Severity
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.conditions import Condition, SeverityAtLeast, SymbolIs
from bridge.rules.table import Row, Source, Table, lasting_for
from tests.engine.workroom import workroom

HERE = Source("rules.yaml", 1, 1)
STOPPED = SymbolIs("state", frozenset({"stopped"}))
OPEN = SymbolIs("site-door", frozenset({"open"}))
TROUBLE = SeverityAtLeast(Severity.ERROR)


def alarm(name: str, *when: Condition) -> Alarm:
    """An alarm without delays."""
    return Alarm(name, when, 0, 0, "A", "high", "", "", None, HERE)


def test_an_alarm_counts_where_every_fact_of_its_when_does() -> None:
    """One that needs what the reader never says holds nothing back."""
    lasting = lasting_for("wall", "long", 1000, "1s")
    long = Row("long", (STOPPED,), "feed-me", "act", HERE, lasting)
    bare = workroom()
    there = replace(
        bare,
        alarms={"halt": alarm("halt", STOPPED), "door": alarm("door", STOPPED, OPEN)},
        prompts={"come": Prompt("come", (STOPPED,), None, "", HERE)},
        tables={"wall": Table("wall", (long,), bare.tables["wall"].otherwise)},
    )
    reader = next(iter(there.printers.values())).reader
    offered = offered_by(there, reader)
    assert {"state", "stale", "link", "alarm halt", "prompt come", lasting.fact} <= offered
    assert "alarm door" not in offered
    assert "local-time" not in offered


def test_memory_and_alarms_are_there_for_whom_they_can_speak_of() -> None:
    """Any one fact of its condition is enough to be watched."""
    reader = next(iter(workroom().printers.values())).reader
    assert "time-in-state" in remembered(reader)
    # A state says that a job is over, never how it ended.
    assert ("last-job" in remembered(reader)) == ("job" in reader.offers)
    assert applies(alarm("halt", STOPPED, OPEN), reader)
    assert not applies(alarm("door", OPEN), reader)
    assert facts_of((STOPPED, TROUBLE)) == {"state", "reasons"}
