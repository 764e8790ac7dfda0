"""The expect cases, run through the daemon's own matcher."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.expects import decision_of, expect_findings, situation
from bridge.check.finding import Kind
from bridge.facts.memory import OWN_REASONS
from bridge.facts.reasons import parse_reason
from bridge.facts.values import FactValue, Reasons, Unknown, Why
from bridge.rules.conditions import Keyword, ReasonsHave, SymbolIs, TruthIs
from bridge.rules.table import (
    Expect,
    Row,
    Source,
    Table,
    alarm_stands,
    lasting_for,
    prompt_stands,
)

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
    assert situation(TABLE, case("")) == {
        "stale": False,
        "link": "up",
        "reasons": Reasons(()),
        OWN_REASONS: Reasons(()),
    }


def test_a_situation_is_complete() -> None:
    """What is given stands over what is assumed, and what follows from it too."""
    assert situation(TABLE, case("", link="down")) == {
        "stale": True,
        "link": "down",
        "reasons": Reasons((), Unknown(Why.LINK_NOT_UP)),
        OWN_REASONS: Reasons(()),
    }
    assert situation(TABLE, case("", link="down", stale=False))["stale"] is False
    assert situation(TABLE, case("", link="down", reasons=EMPTY))["reasons"] == Reasons(
        EMPTY.known, Unknown(Why.LINK_NOT_UP)
    )


def test_alarms_are_normal_and_nothing_has_lasted() -> None:
    """Unless the case says otherwise; of alarms that the table names."""
    lasting = lasting_for("wall", "long", 600_000, "10m")
    rows = (
        Row("jam", (alarm_stands("jam"),), "feed-me", "act", HERE),
        Row("fetch", (prompt_stands("collect"),), "fetch-me", "notice", HERE),
        Row("long", ROWS[2].when, "see-me", "notice", HERE, lasting),
        *ROWS,
    )
    table = replace(TABLE, rows=rows)
    facts = situation(table, case(""))
    assert facts["alarm jam"] == facts["prompt collect"] == "normal"
    assert facts[lasting.fact] is False
    working: dict[str, FactValue] = {"state": "processing"}
    shown = [
        decision_of(table, Expect({**working, **given}, "", CASE)).row.name
        for given in ({}, {lasting.fact: True}, {"alarm jam": "latched"}, {"alarm jam": "shelved"})
    ]
    assert shown == ["working", "long", "jam", "working"]


def test_a_case_that_shows_something_else_is_an_error_at_its_place() -> None:
    """It says what shows, by which rule, because of what."""
    cases = (case("feed-me", state="processing"), case("not-known", stale=True))
    table = replace(TABLE, expect=cases)
    found = [each for each in expect_findings(table) if each.kind is Kind.EXPECT]
    assert [(each.severity, each.source, each.example) for each in found] == [
        ("error", CASE, "{state: processing}")
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
