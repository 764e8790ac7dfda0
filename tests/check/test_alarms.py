"""Alarms that nobody would see, or that nothing can raise."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.check.alarms import alarm_findings, printers_raising, segments_showing
from bridge.engine.site import Site
from tests.settings.copies import load_edited

ALARMS = """alarms:
  empty: {when: {reasons: {any: [material-empty]}}, response: load it}
  hot: {when: {site-oven: hot}, response: open it}
  low: {when: {reasons: {any: [material-low]}}, response: buy some}
  far: {when: {state: stopped}, response: go, segments: [lamp], show: feed-me}
  late:
    when: {state: stopped}
    response: go
    show: feed-me
    escalate: {after: 5m, segments: [all]}
  lone: {when: {state: stopped}, response: go}
prompts:
  collect: {when: {last-job: completed}}
  look: {when: {state: idle}}
tables:
"""
ROWS = """      - {name: empty, when: {alarm: empty}, show: feed-me}
      - {name: hot, when: {alarm: hot}, show: feed-me}
      - {name: low, when: {alarm: low}, show: feed-me}
      - {name: look, when: {prompt: look}, show: ready}
      - {name: silent"""


@pytest.fixture
def site(tmp_path: Path) -> Site:
    """The good site with all of that."""
    edits = (("rules.yaml", "tables:\n", ALARMS), ("rules.yaml", "      - {name: silent", ROWS))
    return load_edited(tmp_path, *edits)


def test_what_is_wrong_with_an_alarm_is_said_at_its_name(site: Site) -> None:
    """Shown nowhere, never raised, or waiting for a word that nobody says."""
    found = {
        (dict(each.about).popitem()[1], each.kind.value, each.severity)
        for each in alarm_findings(site)
    }
    assert found == {
        ("hot", "alarm-never-raised", "warning"),
        ("low", "reason-not-sent", "warning"),
        ("lone", "alarm-not-shown", "error"),
        ("collect", "alarm-not-shown", "error"),
    }
    lone = next(each for each in alarm_findings(site) if "lone" in each.message)
    assert str(lone.source) == "rules.yaml:11:3"
    assert lone.message == "alarm lone is shown nowhere: let a rule name it, or give it segments"


SHOWN = {
    "empty": ["frame", "sill"],
    "far": ["lamp"],
    "late": ["frame", "sill", "lamp"],
    "lone": [],
}


@pytest.mark.parametrize(("name", "segments"), SHOWN.items())
def test_an_alarm_is_shown_by_tables_and_by_segments(
    name: str, segments: list[str], site: Site
) -> None:
    """At once, or when it escalates."""
    shown = [segment.name for segment in segments_showing(site, site.alarms[name])]
    assert shown == segments


def test_printers_raise_what_their_reader_can_tell_of(site: Site) -> None:
    """Every fact of it."""
    assert list(printers_raising(site, site.alarms["far"])) == ["kestrel", "plover"]
    assert list(printers_raising(site, site.alarms["hot"])) == []
