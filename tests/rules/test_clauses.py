"""Tests of reasons as clauses."""

from __future__ import annotations

import pytest

from bridge.facts.values import Reason, Severity
from bridge.rules.clauses import Clause, Needs, ReasonTest, needs_of
from bridge.rules.conditions import Keyword, ReasonsHave, SeverityAtLeast

DOOR, JAM = Keyword("door-open"), Keyword("extruder-jam", Severity.ERROR)
ERROR = Clause(severity=Severity.ERROR)
TWO = Needs((Clause((DOOR,)), Clause((JAM,))))
REFUSE_DOOR = ReasonsHave("none", (DOOR,))

CASES: list[tuple[str, list[ReasonTest], Needs]] = [
    ("any is one clause", [ReasonsHave("any", (DOOR, JAM))], Needs((Clause((DOOR, JAM)),))),
    ("all is one each", [ReasonsHave("all", (DOOR, JAM))], TWO),
    ("all of nothing is none", [ReasonsHave("all", ())], Needs(())),
    ("any of nothing is never hit", [ReasonsHave("any", ())], Needs((Clause(),))),
    ("a severity is one", [SeverityAtLeast(Severity.ERROR)], Needs((ERROR,))),
    ("none refuses", [REFUSE_DOOR], Needs((), Clause((DOOR,)))),
    ("none of nothing still waits for all", [ReasonsHave("none", ())], Needs((), Clause())),
    (
        "several tests are together",
        [REFUSE_DOOR, SeverityAtLeast(Severity.ERROR), ReasonsHave("none", (JAM,))],
        Needs((ERROR,), Clause((DOOR, JAM))),
    ),
]  # fmt: skip


@pytest.mark.parametrize(
    ("tests", "needs"), [case[1:] for case in CASES], ids=[c[0] for c in CASES]
)
def test_tests_become_clauses(tests: list[ReasonTest], needs: Needs) -> None:
    """What must be hit, and what must not be there."""
    assert needs_of(tests) == needs


@pytest.mark.parametrize(
    ("clause", "reason", "hit"),
    [
        (Clause((DOOR,)), Reason("door-open", Severity.REPORT, ""), True),
        (Clause((JAM,)), Reason("extruder-jam", Severity.WARNING, ""), False),
        (Clause((DOOR, JAM)), Reason("extruder-jam", Severity.ERROR, ""), True),
        (ERROR, Reason("fan-failure", Severity.ERROR, ""), True),
        (ERROR, Reason("fan-failure", Severity.WARNING, ""), False),
        (Clause(), Reason("fan-failure", Severity.ERROR, ""), False),
    ],
)
def test_a_clause_is_hit_by_what_it_speaks_of(clause: Clause, reason: Reason, hit: bool) -> None:
    """One of its keywords at the severity asked for, or anything severe enough."""
    assert clause.hit_by(reason) is hit
