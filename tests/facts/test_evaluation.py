"""Facts over what is held: freshness first, then the alternatives in order, or all of them."""

from __future__ import annotations

import pytest

from bridge.facts.evaluation import at_once, messages_of, rules_of
from bridge.facts.reader import Alternative, FactRule, Form, Is, Reader
from bridge.facts.values import Reasons, Unknown, Why
from tests.facts.building import Bench, at, of, rule, status, text

MODE = at("status", "/m", values={20: "idle", 41: "processing"})
HALT = at("status", "/halt", is_=Is((True,)), gives="stopped")
PHASE = of("phase", values={"LAYING": "processing"})


def _said(value: object) -> object:
    """Reasons as their words and why there may be more; an unknown as its why."""
    if isinstance(value, Reasons):
        open_because = value.open_because
        return [one.said for one in value.known], open_because.why if open_because else None
    return value.why if isinstance(value, Unknown) else value


@pytest.mark.parametrize(
    ("document", "state"),
    [
        ({"halt": True, "m": 41}, "stopped"),
        ({"halt": False, "m": 41}, "processing"),
        ({"m": 41}, "processing"),
        ({"halt": False}, Why.ABSENT),
        ({}, Why.ABSENT),
        ({"halt": False, "m": 99}, Why.UNMAPPED),
        ({"halt": "yes", "m": 41}, Why.WRONG_TYPE),
        ({"halt": None, "m": 41}, Why.WRONG_TYPE),
    ],
)
def test_only_absent_or_unmet_goes_on(document: object, state: object) -> None:
    """A word without mapping ends the search."""
    bench = Bench((status(),), (rule("state", HALT, MODE),))
    bench.hear("status", document)
    assert _said(bench["state"]) == state


def test_a_message_that_is_not_fresh_ends_the_search() -> None:
    """What a lower alternative says does not stand in for what is not known."""
    bench = Bench((status(), text("phase")), (rule("state", HALT, PHASE),))
    bench.hear("phase", "LAYING")
    assert _said(bench["state"]) is Why.NOT_HEARD
    bench.hear("status", {"halt": False})
    assert _said(bench["state"]) == "processing"
    bench.wait(20_000)
    bench.hear("phase", "LAYING")
    bench.wait(10_001)
    assert bench["state"] == Unknown(Why.NOT_FRESH, "status")


def test_absent_names_the_places() -> None:
    """A person can see where it was looked for."""
    bench = Bench((status(),), (rule("state", HALT, MODE),))
    bench.hear("status", {})
    assert bench["state"] == Unknown(Why.ABSENT, "status /halt, status /m")


COURSES = (Form("laid", "{layer} of {layers}"),)
PROGRESS = rule("progress", Alternative(ratio=("layer", "layers")))


@pytest.mark.parametrize(
    ("laid", "progress"),
    [
        ("12 of 40", 0.3),
        ("0 of 40", 0.0),
        ("40 of 40", 1.0),
        ("41 of 40", Why.OUT_OF_RANGE),
        ("0 of 0", Why.NO_VALUE),
        ("x of 40", Why.WRONG_TYPE),
        ("nothing", Why.ABSENT),
    ],
)
def test_a_ratio_of_two_facts(laid: str, progress: object) -> None:
    """Parts of a form give facts, and facts a ratio; what is not known stays so."""
    bench = Bench((text("laid"),), (PROGRESS,), COURSES)
    bench.hear("laid", laid)
    assert _said(bench["progress"]) == progress


def test_a_ratio_of_what_is_not_offered() -> None:
    """It is unknown, and no reader can make a ring of ratios that never ends."""
    ring = (
        rule("layer", Alternative(ratio=("layers", "layers"))),
        rule("layers", Alternative(ratio=("layer", "progress"))),
    )
    bench = Bench((status(),), ring)
    bench.hear("status", {})
    assert isinstance(bench["layer"], Unknown)
    assert isinstance(bench["layers"], Unknown)


def test_a_form_stands_behind_the_rules_of_its_fact() -> None:
    """What the reader says of a fact comes first."""
    reader = Reader("r", {}, {"layer": rule("layer", at("status", "/l"))}, COURSES)
    rules = rules_of(reader)
    assert rules["layer"].alternatives == (
        at("status", "/l"),
        Alternative(message="laid", part="layer"),
    )
    assert rules["layers"].alternatives == (Alternative(message="laid", part="layers"),)
    assert messages_of("progress", {**rules, "progress": PROGRESS}) == {"status", "laid"}


SNAG = of("snag", wildcard=1, unless=("", "clear"), values={"spool": "material-empty-error"})


PART_STATE = of("phase", values={"LAYING": "processing", "RESTING": "idle"}, unless=("",))


@pytest.mark.parametrize(
    ("said", "state"),
    [
        ({}, Why.NOT_HEARD),
        ({"a": "LAYING"}, "processing"),
        ({"a": "LAYING", "b": "LAYING"}, "processing"),
        ({"a": "LAYING", "b": "RESTING"}, Why.WRONG_TYPE),
        ({"a": "LAYING", "b": ""}, "processing"),
        ({"a": "LAYING", "b": "AFLOAT"}, Why.UNMAPPED),
        ({"a": "", "b": ""}, Why.ABSENT),
    ],
)
def test_one_value_from_several_addresses(said: dict[str, str], state: object) -> None:
    """They must agree: which of two states is meant cannot be told."""
    bench = Bench((text("phase"),), (rule("state", PART_STATE),), wildcards=frozenset({"phase"}))
    for part, word in said.items():
        bench.hear("phase", word, part=part)
    assert _said(bench["state"]) == state


def test_one_value_from_addresses_that_each_must_count() -> None:
    """One address that is not heard any more leaves the value unknown."""
    bench = Bench((text("phase"),), (rule("state", PART_STATE),), wildcards=frozenset({"phase"}))
    bench.hear("phase", "LAYING", part="a")
    bench.wait(20_000)
    bench.hear("phase", "LAYING", part="b")
    bench.wait(10_001)
    assert bench["state"] == Unknown(Why.NOT_FRESH, "phase")


def test_a_wildcard_that_is_fresh_only_while_the_link_is_up() -> None:
    """Silence says nothing while the link is not up, and none once it is."""
    link = rule("link", of("aboard", values={"aye": "up"}))
    bench = Bench(
        (text("snag", None), text("aboard", None)),
        (link, rule("reasons", SNAG, union=True, absent_none=True)),
        wildcards=frozenset({"snag"}),
    )
    assert _said(bench["reasons"]) == ([], Why.LINK_NOT_UP)
    bench.hear("aboard", "aye")
    assert _said(bench["reasons"]) == ([], None)


def test_a_rule_without_alternatives() -> None:
    """It offers a fact that is never there."""
    bench = Bench((status(),), (FactRule("state", ()),))
    assert _said(bench["state"]) is Why.ABSENT


@pytest.mark.parametrize(
    ("watched", "at_once_found"),
    [
        (set(), {"state"}),
        ({"progress"}, {"state", "progress", "layer", "layers"}),
        ({"extruder-temperature", "nothing"}, {"state", "extruder-temperature"}),
    ],
)
def test_facts_found_with_every_message(watched: set[str], at_once_found: set[str]) -> None:
    """What is watched, what that divides, and whatever is said in words."""
    rules = {
        "state": rule("state", at("status", "/m", values={1: "idle"})),
        "progress": rule("progress", Alternative(ratio=("layer", "layers"))),
        "layer": rule("layer", at("status", "/layer")),
        "layers": rule("layers", at("status", "/layers")),
        "extruder-temperature": rule("extruder-temperature", at("status", "/heat")),
    }
    assert at_once(rules, frozenset(watched)) == at_once_found
