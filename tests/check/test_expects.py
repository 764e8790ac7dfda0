"""The expect cases, run through the daemon's own matcher."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.expects import decision_of, expect_findings, given_text, situation
from bridge.check.finding import Kind
from bridge.facts.reasons import parse_reason
from bridge.facts.values import FactValue, Reasons, Unknown, Why
from bridge.rules.conditions import Keyword, ReasonsHave, SymbolIs, TruthIs
from bridge.rules.table import Expect, Row, Source, Table

HERE = Source("rules.yaml", 3, 5)
CASE = Source("rules.yaml", 9, 7)
EMPTY = Reasons((parse_reason("material-empty-error"),))
ROWS = (
    Row(
        "out of material",
        (ReasonsHave("any", (Keyword("material-empty"),)),),
        "feed-me",
        "act",
        HERE,
    ),
    Row("silent", (TruthIs("stale", wanted=True),), "not-known", "unknown", HERE),
    Row("working", (SymbolIs("state", frozenset({"processing"})),), "filling", "well", HERE),
)
TABLE = Table("wall", ROWS, Row("otherwise", (), "not-known", "unknown", HERE))


def case(shows: str, **given: FactValue) -> Expect:
    """One case."""
    return Expect(given, shows, CASE)


GIVEN: dict[str, tuple[dict[str, FactValue], str]] = {
    "nothing": ({}, "otherwise"),
    "fresh, linked, without reasons": ({"state": "processing"}, "working"),
    "a reason": ({"reasons": EMPTY, "state": "processing"}, "out of material"),
    "stale": ({"stale": True, "state": "processing"}, "silent"),
    "what is said to be unknown keeps comfort away": (
        {"reasons": Unknown(Why.NOT_HEARD), "state": "processing"},
        "otherwise",
    ),
}


@pytest.mark.parametrize(("given", "rule"), GIVEN.values(), ids=GIVEN.keys())
def test_a_case_is_decided_as_the_daemon_would(given: dict[str, FactValue], rule: str) -> None:
    """What is not given is fresh, with the link up and no reasons, and else never offered."""
    assert decision_of(TABLE, Expect(given, "", CASE)).row.name == rule


def test_a_situation_that_says_nothing_is_a_sound_printer() -> None:
    """Heard, linked and without complaints."""
    assert situation(case("")) == {"stale": False, "link": "up", "reasons": Reasons(())}


def test_a_situation_is_complete() -> None:
    """What is given stands over what is assumed."""
    assert situation(case("", link="down")) == {
        "stale": False,
        "link": "down",
        "reasons": Reasons(()),
    }


def test_a_case_that_shows_something_else_is_an_error_at_its_place() -> None:
    """It says what shows, by which rule, because of what."""
    cases = (case("feed-me", state="processing"), case("not-known", stale=True))
    table = replace(TABLE, expect=cases)
    found = [each for each in expect_findings(table) if each.kind is Kind.EXPECT]
    assert [(each.severity, each.source, each.example) for each in found] == [
        ("error", CASE, "state is processing")
    ]
    assert found[0].message == (
        "table wall shows filling by rule 'working' (state is processing (processing)), "
        "expected feed-me"
    )


def test_a_rule_that_no_case_expects_is_named() -> None:
    """Nothing would notice if it were lost."""
    table = replace(TABLE, expect=(case("filling", state="processing"),))
    found = [each for each in expect_findings(table) if each.kind is Kind.RULE_NOT_EXPECTED]
    assert [each.message.split("'")[1] for each in found] == ["out of material", "silent"]


def test_an_empty_case_says_nothing() -> None:
    """In words."""
    assert given_text(case("")) == "nothing"
