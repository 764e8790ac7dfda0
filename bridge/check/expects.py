"""The ``expect`` cases beside the rules, run through the matcher that the daemon uses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bridge.check.finding import Finding, Kind, about_table
from bridge.check.words import given_words
from bridge.facts.memory import OWN_REASONS
from bridge.facts.values import Facts, FactValue, Reasons, Unknown, Why
from bridge.facts.vocabulary import BRIDGE_PREFIX
from bridge.rules.alarm_states import State
from bridge.rules.decision import Decision, decide
from bridge.rules.table import ALARM_PREFIX, LASTING_PREFIX, PROMPT_PREFIX, Expect, Table

_NO_LINK: Final = Unknown(Why.LINK_NOT_UP)


def situation(table: Table, case: Expect) -> Facts:
    """All facts of a case: what is not given is fresh, with the link up and no reasons.

    Alarms and prompts are normal, and no row has lasted long enough. Without a link nothing is
    fresh, and reasons are those that the bridge found itself and perhaps more.
    """
    facts: dict[str, FactValue] = {"stale": False, "link": "up", "reasons": Reasons(())}
    for row in table.rows:
        for condition in row.tested:
            if condition.fact.startswith((ALARM_PREFIX, PROMPT_PREFIX)):
                facts[condition.fact] = State.NORMAL.value
            elif condition.fact.startswith(LASTING_PREFIX):
                facts[condition.fact] = False
    if case.given.get("link") == "down":
        facts["stale"] = True
    facts.update(case.given)
    reasons = facts["reasons"]
    known = reasons.known if isinstance(reasons, Reasons) else ()
    own = (each for each in known if each.keyword.startswith(BRIDGE_PREFIX))
    facts[OWN_REASONS] = Reasons(tuple(own))
    if facts["link"] == "down" and isinstance(reasons, Reasons):
        facts["reasons"] = Reasons(reasons.known, _NO_LINK)
    return facts


def decision_of(table: Table, case: Expect) -> Decision:
    """What the table decides in a case; a fact that is not given is as if never offered."""
    facts = situation(table, case)
    return decide(table, facts, frozenset(facts))


def expect_findings(table: Table) -> Iterator[Finding]:
    """Cases that show something else, and rules that no case expects."""
    reached: set[str] = set()
    for case in table.expect:
        decision = decision_of(table, case)
        reached.add(decision.row.name)
        if decision.row.show != case.shows:
            because = decision.because(situation(table, case))
            yield Finding(
                Kind.EXPECT,
                "error",
                case.source,
                f"table {table.name} shows {decision.row.show} by rule '{decision.row.name}' "
                f"({because}), expected {case.shows}",
                given_words(case.given),
                about_table(table, decision.row.name),
            )
    for row in table.rows:
        if row.name not in reached:
            yield Finding(
                Kind.RULE_NOT_EXPECTED,
                "warning",
                row.source,
                f"no expect case of table {table.name} is decided by rule '{row.name}', "
                "so nothing notices when it is lost: add one",
                about=about_table(table, row.name),
            )
