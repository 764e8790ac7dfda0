"""The ``expect`` cases beside the rules, run through the matcher that the daemon uses."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.finding import Finding, Kind
from bridge.facts.values import Facts, Reasons
from bridge.rules.conditions import shown
from bridge.rules.decision import Decision, decide
from bridge.rules.table import Expect, Table


def situation(case: Expect) -> Facts:
    """All facts of a case: what is not given is fresh, with the link up and no reasons."""
    return {"stale": False, "link": "up", "reasons": Reasons(()), **case.given}


def decision_of(table: Table, case: Expect) -> Decision:
    """What the table decides in a case; a fact that is not given is as if never offered."""
    facts = situation(case)
    return decide(table, facts, frozenset(facts))


def expect_findings(table: Table) -> Iterator[Finding]:
    """Cases that show something else, and rules that no case expects."""
    reached: set[str] = set()
    for case in table.expect:
        decision = decision_of(table, case)
        reached.add(decision.row.name)
        if decision.row.show != case.shows:
            because = decision.because(situation(case))
            yield Finding(
                Kind.EXPECT,
                "error",
                case.source,
                f"table {table.name} shows {decision.row.show} by rule '{decision.row.name}' "
                f"({because}), expected {case.shows}",
                given_text(case),
            )
    for row in table.rows:
        if row.name not in reached:
            yield Finding(
                Kind.RULE_NOT_EXPECTED,
                "warning",
                row.source,
                f"no expect case of table {table.name} is decided by rule '{row.name}', "
                "so nothing notices when it is lost: add one",
            )


def given_text(case: Expect) -> str:
    """A case's situation in words."""
    return ", ".join(f"{fact} is {shown(value)}" for fact, value in case.given.items()) or "nothing"
