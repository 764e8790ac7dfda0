"""The expect cases: what is given, and the cases that cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.facts.values import Unknown
from bridge.rules.table import lasting_for
from tests.settings.copies import Edit, load_edited, wrong

RULES = "rules.yaml"
ALARMS = """alarms:
  jam: {when: {reasons: {any: [extruder-jam]}}, sequence: R, response: clear it}
  slow: {when: {in_state: {at_least: 2h}}, response: look}
prompts:
  collect: {when: {last-job: completed}}
"""
WAITING = "state: processing}, lasting: 10m, show: filling"
OLD = "given: {state: processing, progress: 0.4}"


def edits(given: str) -> tuple[Edit, ...]:
    """The good site with alarms, a rule that waits, and a case in which this is given."""
    return (
        (RULES, "tables:", f"{ALARMS}tables:"),
        (RULES, "state: processing}, show: filling", WAITING),
        (RULES, OLD, f"given: {{{given}}}"),
    )


LASTED = lasting_for("wall", "filling", 0, "").fact
GIVEN: list[tuple[str, dict[str, object]]] = [
    ("alarms: {jam: latched, slow: shelved}", {"alarm jam": "latched", "alarm slow": "shelved"}),
    ("alarms: {jam: out-of-service}", {"alarm jam": "out-of-service"}),
    ("alarms: {}", {}),
    ("prompts: {collect: waiting}", {"prompt collect": "waiting"}),
    ("lasting: [filling]", {LASTED: True}),
]


@pytest.mark.parametrize(("given", "facts"), GIVEN)
def test_what_is_given_are_facts(given: str, facts: dict[str, object], tmp_path: Path) -> None:
    """Named as the matcher names them."""
    case = load_edited(tmp_path, *edits(given)).tables["wall"].expect[0]
    assert dict(case.given) == facts


def test_an_alarm_may_be_unknown(tmp_path: Path) -> None:
    """While what raises it is."""
    case = load_edited(tmp_path, *edits("alarms: {jam: unknown}")).tables["wall"].expect[0]
    assert isinstance(case.given["alarm jam"], Unknown)


REFUSED = [
    ("alarms: [jam]", "alarms: is a list, expected for example {NAME: acknowledged}"),
    ("alarms: {jem: normal}", "jem: is no alarm of rules.yaml; did you mean 'jam'?"),
    ("alarms: {jam: loud}", "jam: is 'loud', which is no state of it"),
    ("alarms: {slow: latched}", "slow: is 'latched', which an alarm of sequence A never is"),
    ("prompts: waiting", "prompts: is 'waiting', expected for example {NAME: waiting}"),
    ("prompts: {collect: spent}", "collect: is 'spent', which is no state of it; known are"),
    ("lasting: filling", "lasting: is 'filling', expected a list of rules"),
    ("lasting: [fillin]", "lasting: 'fillin' is no rule of table wall; did you mean 'filling'?"),
    ("lasting: [silent]", "lasting: the rule 'silent' has no lasting"),
    ("link: down, state: idle", "state: cannot be known while link is down, expected unknown"),
    ("link: down, reasons: [door-open]", "reasons: cannot be known while link is down"),
    ("link: down, site-tide: low", "site-tide: cannot be known while link is down"),
]


@pytest.mark.parametrize(("given", "message"), REFUSED)
def test_a_case_that_cannot_be_is_one_problem(given: str, message: str, tmp_path: Path) -> None:
    """At the place in it that is wrong."""
    (line,) = wrong(tmp_path, *edits(given))
    assert line.startswith("rules.yaml:16:")
    assert line.split(": ", 1)[1].startswith(message)


SOUND = [
    "link: down, state: unknown, stale: true",
    "link: down, reasons: [bridge-job-vanished]",
    "link: down, last-job: completed, in_state: 1h, alarms: {jam: acknowledged}",
    "link: unknown, state: idle",
]


@pytest.mark.parametrize("given", SOUND)
def test_what_the_bridge_knows_itself_outlives_the_link(given: str, tmp_path: Path) -> None:
    """Only what a printer says is lost with it."""
    assert wrong(tmp_path, *edits(given)) == []


def test_the_same_situation_shows_one_scene(tmp_path: Path) -> None:
    """In whatever order it is given, and however its numbers are written."""
    again = "- {given: {progress: 40 %, state: processing}, shows: ready}\n      - {given: {state"
    (line,) = wrong(tmp_path, (RULES, "- {given: {state", again))
    assert line.startswith("rules.yaml:12:60: shows: is 'filling', and 'ready' for the same")
    assert line.endswith("in line 11")
