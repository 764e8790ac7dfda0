"""Alarms and prompts from the file."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.rules.alarm import Escalation
from bridge.rules.conditions import Keyword, NumberIn, ReasonsHave, SymbolIs
from tests.settings.copies import load_edited, wrong

RULES = "rules.yaml"
JAM = """alarms:
  jam:
    when: {reasons: {any: [extruder-jam]}, state: stopped}
    on_delay: 5s
    off_delay: 10s
    sequence: R
    priority: high
    cause: a cold nozzle
    response: clear it
    segments: [frame]
    show: feed-me
    escalate: {after: 5m, segments: [lamp], publish: {broker: shed, topic: alder/call}}
  far: {when: {state: stopped}, response: look}
  slow: {when: {in_state: {at_least: 2h}}, response: look, segments: [lamp]}
prompts:
  collect: {when: {last-job: completed}, until: {platform-temperature: {below: 40 °C}}}
  look: {when: {unchanged_for: {at_least: 1h}}, response: have a look}
tables:
"""
SLOW = "      - {name: slow, when: {alarm: slow}, show: not-known}\n      - {name: silent"
EDITS = ((RULES, "tables:\n", JAM), (RULES, "      - {name: silent", SLOW))


def test_an_alarm_is_what_was_written(tmp_path: Path) -> None:
    """Times in ms; what carries it shows its scene."""
    jam = load_edited(tmp_path, *EDITS).alarms["jam"]
    assert jam.when == (
        ReasonsHave("any", (Keyword("extruder-jam"),)),
        SymbolIs("state", frozenset({"stopped"})),
    )
    assert (jam.on_delay_ms, jam.off_delay_ms) == (5000, 10_000)
    assert (jam.sequence, jam.priority) == ("R", "high")
    assert (jam.cause, jam.response) == ("a cold nozzle", "clear it")
    assert (jam.segments, jam.show) == (("frame",), "feed-me")
    assert jam.escalate == Escalation(300_000, ("lamp",), "alder/call", "shed")
    assert str(jam.source) == "rules.yaml:2:3"


def test_what_is_not_said_has_its_default(tmp_path: Path) -> None:
    """No delays, automatic reset, and the scene of the first rule that names it."""
    site = load_edited(tmp_path, *EDITS)
    far, slow = site.alarms["far"], site.alarms["slow"]
    assert (far.on_delay_ms, far.off_delay_ms, far.sequence, far.priority) == (0, 0, "A", "medium")
    assert (far.cause, far.segments, far.show, far.escalate) == ("", (), "", None)
    assert (slow.segments, slow.show) == (("lamp",), "not-known")


def test_a_prompt_is_what_was_written(tmp_path: Path) -> None:
    """With what ends it besides a person, if anything does."""
    prompts = load_edited(tmp_path, *EDITS).prompts
    collect, look = prompts["collect"], prompts["look"]
    assert collect.when == (SymbolIs("last-job", frozenset({"completed"})),)
    assert collect.until is not None
    assert isinstance(collect.until[0], NumberIn)
    assert (look.until, look.response, str(look.source)) == (None, "have a look", "rules.yaml:17:3")


REFUSED = [
    ("segments: [frame]", "segments: [frme]", "10:16: segments: 'frme' is no segment of site.yaml"),
    ("show: feed-me", "show: ready", "11:11: show: 'ready' says well, an alarm must say unknown"),
    ("show: feed-me", "show: feedme", "11:11: show: 'feedme' is no scene"),
    ("broker: shed", "broker: shad", "12:63: broker: 'shad' is no broker of site.yaml"),
    ("topic: alder/call", "topic: alder/#", "12:76: topic: 'alder/#' has a wildcard"),
    ("after: 5m", "after: 0s", "12:23: after: '0s' is no time at all"),
    ("sequence: R", "sequence: B", "6:15: sequence: is 'B', expected A, M or R"),
    ("priority: high", "priority: hi", "7:15: priority: is 'hi', expected low, medium or high"),
    ("state: stopped}, response: look", "state: stopped}", "13:3: far: needs 'response'"),
    ("{alarm: slow}", "{stale: true}", "14:3: slow: needs 'show' for its segments"),
    ("  far:", "  JAM:", "13:3: JAM: differs from 'jam' only in case"),
    ("  look:", "  COLLECT:", "17:3: COLLECT: differs from 'collect' only in case"),
    ("until: {platform", "until: {alarm: jam, platform", "16:50: 'alarm' is for the rules of a"),
    ("on_delay: 5s", "on_delay: 5", "4:15: on_delay: 5 has no unit"),
]


@pytest.mark.parametrize(("old", "new", "start"), REFUSED)
def test_a_wrong_alarm_is_told(old: str, new: str, start: str, tmp_path: Path) -> None:
    """At the value, or at its name where something is missing."""
    (line,) = wrong(tmp_path, *EDITS, (RULES, old, new))
    assert line.startswith(f"rules.yaml:{start}")


def test_an_escalation_does_something(tmp_path: Path) -> None:
    """Else it is a slip."""
    edit = (RULES, ", segments: [lamp], publish: {broker: shed, topic: alder/call}}", "}")
    (line,) = wrong(tmp_path, *EDITS, edit)
    assert line == "rules.yaml:12:5: escalate: does nothing, give it segments or publish"


def test_names_of_a_site_that_cannot_be_read_are_not_missed(tmp_path: Path) -> None:
    """The mistake is told where it is."""
    lines = wrong(tmp_path, *EDITS, ("site.yaml", "zone: Europe/Dublin", "zone: ["))
    assert all(line.startswith("site.yaml:") for line in lines)
