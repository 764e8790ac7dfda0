"""Conditions and given facts, by the kind of their fact."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.facts.reader import Interval
from bridge.facts.reasons import parse_reason
from bridge.facts.values import FactValue, Reasons, Severity, Unknown
from bridge.rules.conditions import (
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TimeOfDay,
    TruthIs,
)
from bridge.settings.conditions import interval_of
from tests.settings.copies import load_edited, wrong

RULES = "rules.yaml"
OLD = "when: {stale: true}"
OLD_GIVEN = "given: {state: processing, progress: 0.4}"

WORDS = frozenset({"idle", "stopped"})
NONE: frozenset[str] = frozenset()
READ: list[tuple[str, tuple[Condition, ...]]] = [
    ("state: idle", (SymbolIs("state", frozenset({"idle"})),)),
    ("state: [idle, stopped]", (SymbolIs("state", WORDS),)),
    ("state: {not: [idle, stopped]}", (SymbolIs("state", WORDS, negated=True),)),
    ("state: {not: idle}", (SymbolIs("state", frozenset({"idle"}), negated=True),)),
    ("state: unknown", (SymbolIs("state", NONE, unknown=True),)),
    ("state: [idle, unknown]", (SymbolIs("state", frozenset({"idle"}), unknown=True),)),
    ("link: down", (SymbolIs("link", frozenset({"down"})),)),
    ("job: no-value", (SymbolIs("job", frozenset({"no-value"})),)),
    ("job-name: keel block", (SymbolIs("job-name", frozenset({"keel block"})),)),
    ("site-tide: flood", (SymbolIs("site-tide", frozenset({"flood"})),)),
    (
        "site-draught: {above: 2}",
        (NumberIn("site-draught", Interval(2.0, None, least_included=False), "above 2"),),
    ),
    ("stale: false", (TruthIs("stale", wanted=False),)),
    ("progress: unknown", (SymbolIs("progress", NONE, unknown=True),)),
    ("progress: {not: unknown}", (SymbolIs("progress", NONE, unknown=True, negated=True),)),
    (
        "progress: {at_least: 50 %, below: 90 %}",
        (
            NumberIn(
                "progress", Interval(0.5, 0.9, most_included=False), "at least 50 % and below 90 %"
            ),
        ),
    ),
    (
        "progress: {above: 0.5, at_most: 1}",
        (
            NumberIn(
                "progress", Interval(0.5, 1.0, least_included=False), "above 0.5 and at most 1"
            ),
        ),
    ),
    (
        "extruder-temperature: {below: 40 °C}",
        (
            NumberIn(
                "extruder-temperature", Interval(None, 40.0, most_included=False), "below 40 °C"
            ),
        ),
    ),
    (
        "chamber-temperature: {below: -4.5 °C}",
        (
            NumberIn(
                "chamber-temperature", Interval(None, -4.5, most_included=False), "below -4.5 °C"
            ),
        ),
    ),
    (
        "time-to-completion: {at_most: 10m}",
        (NumberIn("time-to-completion", Interval(None, 600.0), "at most 10m"),),
    ),
    ("layer: {at_least: 3}", (NumberIn("layer", Interval(3.0, None), "at least 3"),)),
    (
        "reasons: {any: [material-empty, door-open-warning]}",
        (ReasonsHave("any", (Keyword("material-empty"), Keyword("door-open", Severity.WARNING))),),
    ),
    (
        "reasons: {all: [site-noise], none: [other], severity: {at_least: warning}}",
        (
            ReasonsHave("all", (Keyword("site-noise"),)),
            ReasonsHave("none", (Keyword("other"),)),
            SeverityAtLeast(Severity.WARNING),
        ),
    ),
    ("last-job: [aborted, unknown]", (SymbolIs("last-job", frozenset({"aborted"}), unknown=True),)),
    (
        "in_state: {at_least: 10m}",
        (NumberIn("time-in-state", Interval(600.0, None), "at least 10m"),),
    ),
    (
        "unchanged_for: {above: 1h}",
        (NumberIn("time-unchanged", Interval(3600.0, None, least_included=False), "above 1h"),),
    ),
    (
        'local_time: {from: "22:00", before: "06:30:15"}',
        (TimeOfDay(79_200.0, 23_415.0, "from 22:00 before 06:30:15"),),
    ),
    ("local_time: {from: 22:00}", (TimeOfDay(79_200.0, 86_400.0, "from 22:00"),)),
    ("local_time: {before: 06:00}", (TimeOfDay(0.0, 21_600.0, "before 06:00"),)),
    (
        "state: idle, stale: false",
        (SymbolIs("state", frozenset({"idle"})), TruthIs("stale", wanted=False)),
    ),
]


@pytest.mark.parametrize(("when", "conditions"), READ)
def test_a_condition_is_what_was_written(
    when: str, conditions: tuple[Condition, ...], tmp_path: Path
) -> None:
    """Numbers in the fact's own unit, ends as stated, the text kept for people."""
    site = load_edited(tmp_path, (RULES, OLD, f"when: {{{when}}}"))
    assert site.tables["wall"].rows[1].when == conditions


REFUSED = [
    ("state: running", "state: 'running' is no word for state"),
    ("state: [idle, stoped]", "state: 'stoped' is no word for state; did you mean 'stopped'?"),
    ("state: []", "state: is an empty list"),
    ("state: true", "state: is true, expected a word; put it in quotes"),
    ("state: {any: [idle]}", "state: expected a word, a list of words or {not: …} for state"),
    ("state: {not: idle, any: [x]}", "state: expected a word"),
    ("state: {not: {a: b}}", "not: is a mapping, expected a single value or a list"),
    ("link: gone", "link: 'gone' is no word for link; known are down, unknown and up"),
    ("stale: maybe", "stale: is 'maybe', expected true or false"),
    ("stale: {not: true}", "stale: is a mapping, expected true or false"),
    ("progress: 0.5", "progress: 0.5 is no test of a number, write for example {at_least: 80 %}"),
    ("progress: {}", "progress: is an empty test, write for example {at_least: 80 %}"),
    ("progress: {at_least: 90}", "at_least: 90 is no share, expected 0 to 1 or 0 % to 100 %"),
    ("progress: {at_least: many}", "at_least: 'many' is no percentage"),
    ("progress: {any: [x]}", "any: is for reasons, progress is a number"),
    ("progress: {not: unknown, below: 1}", "progress: expected either not, or the ends"),
    ("progress: {below: 0.2, at_least: 0.9}", "progress: no number lies between these ends"),
    ("progress: {below: 0.2, at_most: 0.9}", "progress: has both below and at_most"),
    ("layer: {at_least: 3 mm}", "at_least: '3 mm' is no number"),
    ("extruder-temperature: {below: 40}", "below: 40 has no unit, write for example 40 °C"),
    ("time-to-completion: {below: 600}", "below: 600 has no unit"),
    ("reasons: material-empty", "reasons: is 'material-empty', expected for example {any: "),
    ("reasons: [material-empty]", "reasons: is a list, expected for example {any: "),
    ("reasons: {}", "reasons: is an empty test"),
    ("reasons: {not: material-empty}", "not: is no test of reasons, expected any, all, none or"),
    ("reasons: {any: []}", "any: is empty, expected at least one entry"),
    ("reasons: {any: [matrial-low]}", "any: 'matrial-low' is not a registered reason: did you"),
    ("reasons: {any: [none]}", "any: 'none' says that there is no reason"),
    ("reasons: {severity: {at_least: eror}}", "at_least: 'eror' is no severity; did you mean"),
    ("sate: idle", "'sate' is no fact; did you mean 'state'?"),
    ("site-: idle", "'site-' is no fact"),
    ("alarm: jam", "alarm: 'jam' is no alarm of rules.yaml; there is none"),
    ("prompt: [a, b]", "prompt: is a list, expected the name of one prompt"),
    ("last-job: processing", "last-job: 'processing' is no word for last-job; known are"),
    ("time-in-state: {above: 1m}", "'time-in-state' is written in_state"),
    ("in_state: {at_least: 10}", "at_least: 10 has no unit, write for example 300ms"),
    ("in_state: {from: 10m}", "from: is for local_time, time-in-state is a number"),
    ("local_time: night", "local_time: is 'night', expected for example {from: "),
    ("local_time: {above: 22}", "above: is no end of local_time, it has from and before"),
    ("local_time: {}", "local_time: is an empty test, write for example {from: "),
    ("local_time: {from: 22}", 'from: is 22, expected a time from "00:00" to "23:59:59"'),
    ("local_time: {before: 24:00}", "before: is '24:00', expected a time from"),
    ("local_time: {from: 06:00, before: 06:00}", "local_time: from and before are the same time"),
    ("local_time: {before: 00:00}", "local_time: from and before are the same time"),
    ("state: {from: 06:00}", "state: expected a word, a list of words or {not: …} for state"),
]


@pytest.mark.parametrize(("when", "message"), REFUSED)
def test_a_condition_that_cannot_be_is_one_problem(when: str, message: str, tmp_path: Path) -> None:
    """With what the fact can be, and the nearest word."""
    (line,) = wrong(tmp_path, (RULES, OLD, f"when: {{{when}}}"))
    assert line.startswith("rules.yaml:5:")
    assert line.split(": ", 1)[1].startswith(message)


GIVEN: list[tuple[str, str, FactValue]] = [
    ("state: idle", "state", "idle"),
    ("progress: 40 %", "progress", 0.4),
    ("progress: 1", "progress", 1.0),
    ("extruder-temperature: 210 °C", "extruder-temperature", 210.0),
    ("time-to-completion: 1h", "time-to-completion", 3600.0),
    ("layer: 3", "layer", 3.0),
    ("stale: true", "stale", True),
    ("link: down", "link", "down"),
    ("site-tide: 2.5", "site-tide", 2.5),
    ("site-tide: true", "site-tide", True),
    ("site-tide: flood", "site-tide", "flood"),
    ("last-job: completed", "last-job", "completed"),
    ("in_state: 20m", "time-in-state", 1200.0),
    ("unchanged_for: 90s", "time-unchanged", 90.0),
    ("local_time: 23:10", "local-time", 83_400.0),
    ('local_time: "00:00:01"', "local-time", 1.0),
    ("reasons: []", "reasons", Reasons(())),
    (
        "reasons: [material-low, door-open-error, material-low]",
        "reasons",
        Reasons((parse_reason("door-open-error"), parse_reason("material-low"))),
    ),
]


@pytest.mark.parametrize(("given", "name", "value"), GIVEN)
def test_a_given_fact_is_its_value(given: str, name: str, value: FactValue, tmp_path: Path) -> None:
    """Sorted and without doubles where there may be several."""
    site = load_edited(tmp_path, (RULES, OLD_GIVEN, f"given: {{{given}}}"))
    assert dict(site.tables["wall"].expect[0].given) == {name: value}


def test_unknown_may_be_given(tmp_path: Path) -> None:
    """For any fact but stale, which is always known."""
    edit = (RULES, OLD_GIVEN, "given: {state: unknown, reasons: unknown, progress: unknown}")
    given = load_edited(tmp_path, edit).tables["wall"].expect[0].given
    assert all(isinstance(value, Unknown) for value in given.values())
    assert len(given) == 3


REFUSED_GIVEN = [
    ("state: busy", "state: 'busy' is no word for state"),
    ("stale: unknown", "stale: is 'unknown', expected true or false"),
    ("progress: 40", "progress: 40 is no share"),
    ("reasons: material-empty", "reasons: is 'material-empty', expected a list of reasons"),
    ("reasons: [nonsense]", "reasons: 'nonsense' is not a registered reason"),
    ("alarms: {jam: acknowledged}", "jam: is no alarm of rules.yaml; there is none"),
    ("alarm: jam", "'alarm' is a test, what is given are alarms: {NAME: its state}"),
    ("last-job: pending", "last-job: 'pending' is no word for last-job"),
    ("local_time: 25:00", "local_time: is '25:00', expected a time"),
    ("in_state: 5", "in_state: 5 has no unit"),
    ("state: {a: b}", "state: is a mapping, expected a word"),
]


@pytest.mark.parametrize(("given", "message"), REFUSED_GIVEN)
def test_a_given_fact_that_cannot_be_is_one_problem(
    given: str, message: str, tmp_path: Path
) -> None:
    """A case that could never come proves nothing."""
    (line,) = wrong(tmp_path, (RULES, OLD_GIVEN, f"given: {{{given}}}"))
    assert line.startswith("rules.yaml:11:")
    assert line.split(": ", 1)[1].startswith(message)


INTERVALS = [
    ({"at_least": 1.0, "at_most": 1.0}, True),
    ({"above": 1.0, "at_most": 1.0}, False),
    ({"at_least": 1.0, "below": 1.0}, False),
    ({"above": 1.0, "below": 2.0}, True),
    ({"above": 2.0, "below": 1.0}, False),
    ({"above": 1.0}, True),
]


@pytest.mark.parametrize(("ends", "possible"), INTERVALS)
def test_an_interval_holds_some_number(ends: dict[str, float], possible: bool) -> None:
    """Else it is told, as its rule would never fire."""
    assert isinstance(interval_of(ends), Interval) is possible
