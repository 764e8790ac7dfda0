"""The schemas of mappings whose keys are facts."""

from __future__ import annotations

import pytest
from jsonschema import Draft202012Validator

from bridge.facts.vocabulary import FACTS
from bridge.settings.fact_schemas import about, facts_schema, given_schema, when_schema

WHEN = [
    ({"state": "idle"}, True),
    ({"state": ["idle", "unknown"]}, True),
    ({"state": {"not": "idle"}}, True),
    ({"state": "running"}, False),
    ({"state": []}, False),
    ({"stale": True}, True),
    ({"stale": "true"}, False),
    ({"progress": {"at_least": "50 %", "below": 0.9}}, True),
    ({"progress": "unknown"}, True),
    ({"progress": {"at_least": 50}}, False),
    ({"progress": {"at_least": 0.5, "above": 0.1}}, False),
    ({"extruder-temperature": {"below": "40 °C"}}, True),
    ({"extruder-temperature": {"below": 40}}, False),
    ({"reasons": {"any": ["material-empty"]}}, True),
    ({"reasons": {"any": []}}, False),
    ({"reasons": ["material-empty"]}, False),
    ({"site-tide": "flood"}, True),
    ({"site-tide": {"above": 2}}, True),
    ({"tide": "flood"}, False),
    ({}, False),
]


@pytest.mark.parametrize(("when", "right"), WHEN)
def test_a_condition_is_judged_as_the_loader_does(when: object, right: bool) -> None:
    """Words, units and ends of each fact."""
    assert Draft202012Validator(when_schema()).is_valid(when) is right


GIVEN = [
    ({}, True),
    ({"state": "unknown", "progress": 0.4, "reasons": []}, True),
    ({"reasons": "unknown"}, True),
    ({"progress": "40 %"}, True),
    ({"progress": 40}, False),
    ({"state": ["idle"]}, False),
    ({"stale": "unknown"}, False),
    ({"site-tide": 2.5}, True),
]


@pytest.mark.parametrize(("given", "right"), GIVEN)
def test_a_given_fact_is_judged_as_the_loader_does(given: object, right: bool) -> None:
    """One value each."""
    assert Draft202012Validator(given_schema()).is_valid(given) is right


def test_a_reader_gives_every_fact_but_stale() -> None:
    """What is stale is about the hearing."""
    schema = Draft202012Validator(facts_schema({"type": "array"}))
    assert schema.is_valid({**{name: [] for name in FACTS}, "site-tide": []})
    assert not schema.is_valid({"stale": []})


@pytest.mark.parametrize("fact", FACTS.values(), ids=lambda fact: fact.name)
def test_every_fact_is_told_in_a_sentence(fact: object) -> None:
    """Shown where the pointer rests on it."""
    assert about(fact).endswith(".")  # type: ignore[arg-type]  # pytest's parameters have no type
