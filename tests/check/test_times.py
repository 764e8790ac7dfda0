"""The longest time from an alarm's cause to its light."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.check.times import AlarmTime, alarm_times
from bridge.engine.site import Site
from bridge.settings.load import load_site
from tests.settings.copies import load_edited

ALARMS = """alarms:
  empty: {when: {reasons: {any: [material-empty]}}, on_delay: 5s, response: load it}
  halt: {when: {state: stopped}, response: go, segments: [lamp], show: feed-me}
  long:
    when: {in_state: {at_least: 2h}, state: stopped}
    response: go
    show: feed-me
    segments: [lamp]
  dead: {when: {stale: true}, response: go, show: feed-me, segments: [lamp]}
  late:
    when: {state: stopped}
    response: go
    show: feed-me
    escalate: {after: 5m, segments: [lamp]}
tables:
"""
EMPTY = "      - {name: empty, when: {alarm: empty}, show: feed-me}\n      - {name: silent"


@pytest.fixture
def site(tmp_path: Path) -> Site:
    """The good site: kestrel publishes every 40 s at least, plover is polled every 20 s."""
    edits = (("rules.yaml", "tables:\n", ALARMS), ("rules.yaml", "      - {name: silent", EMPTY))
    return load_edited(tmp_path, *edits)


def times(site: Site, alarm: str) -> dict[tuple[str, str], AlarmTime]:
    """Of one alarm, by printer and segment."""
    return {(each.printer, each.segment): each for each in alarm_times(site) if each.alarm == alarm}


def test_an_alarm_is_told_for_the_printers_of_each_segment(site: Site) -> None:
    """A table tells of its own segment's printers, a segment that carries it of every one."""
    assert set(times(site, "empty")) == {("kestrel", "frame"), ("plover", "sill")}
    assert set(times(site, "halt")) == {("kestrel", "lamp"), ("plover", "lamp")}


def test_what_is_polled_is_heard_within_its_interval_and_a_time_out(site: Site) -> None:
    """What publishes within the time for which it is fresh."""
    reader = site.printers["kestrel"].reader
    fresh = reader.messages["doing"].every_ms or reader.messages["doing"].fresh_for_ms
    halt = times(site, "halt")
    assert halt["kestrel", "lamp"].heard_ms == fresh
    endpoint = site.endpoints[site.printers["plover"].inputs[0].address]
    assert halt["plover", "lamp"].heard_ms == 20_000 + endpoint.timeout_ms


def test_delays_count(site: Site) -> None:
    """The alarm's own, how long something must have been so, and until it escalates."""
    assert times(site, "empty")["plover", "sill"].raised_ms == 5000
    assert times(site, "halt")["plover", "lamp"].raised_ms == 0
    assert times(site, "long")["plover", "lamp"].raised_ms == 7_200_000
    assert times(site, "late")["plover", "lamp"].raised_ms == 300_000
    dead = times(site, "dead")["kestrel", "lamp"]
    required = site.printers["kestrel"].reader.messages["doing"]
    assert dead.heard_ms == required.fresh_for_ms


def test_sending_takes_a_slot_for_each_segment_and_a_time_out(site: Site) -> None:
    """The budget of a promise: a second, the segments of the controller, one time-out."""
    limits = site.dialects["bars"].limits
    slot = limits.window_ms / limits.requests if limits.requests else 0.0
    for each in alarm_times(site):
        assert each.sent_ms == int(1000 + 3 * slot + limits.timeout_ms)
        assert each.together_ms == each.heard_ms + each.raised_ms + each.sent_ms


def test_what_the_bridge_finds_itself_takes_as_long_as_it_waits() -> None:
    """The half hour without movement, and the seconds in which an outcome may still come."""
    site = load_site(Path(__file__).parents[2] / "config")
    raised = {each.alarm: each.raised_ms for each in alarm_times(site) if each.segment == "shelf"}
    assert (raised["stalled"], raised["vanished"]) == (30 * 60_000, 10_000)
