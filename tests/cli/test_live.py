"""What a visit found, in lines and for programs."""

from __future__ import annotations

from dataclasses import replace

from bridge.check.visit import Visit
from bridge.cli.live import visit_lines, visit_value
from tests.engine.workroom import workroom

FINE = Visit("rail", said=["is 'pegboard', as the site says"], took_ms=[9, 20])
SILENT = Visit("rail", wrong=["GET /me: connection refused"])
OTHER = Visit("rail", would_change=["s1: would be told which pixels it is"], took_ms=[7])


def lines(visit: Visit) -> list[str]:
    """Those of one visit."""
    return list(visit_lines(workroom(), [visit]))


def test_a_paragraph_for_each() -> None:
    """What is wrong stands first."""
    assert lines(FINE) == [
        "rail  http://rail.club.example (pegs): 2 answers in 9 to 20 ms",
        "  is 'pegboard', as the site says",
    ]
    assert lines(SILENT)[0].endswith("(pegs): no answer")
    assert lines(SILENT)[1] == "  WRONG: GET /me: connection refused"
    assert lines(OTHER)[0].endswith("1 answers in 7 ms")
    assert lines(OTHER)[1].startswith("  would change: s1")
    asked_nothing = replace(FINE, took_ms=[])
    assert lines(asked_nothing)[0].endswith("not asked")


def test_programs_get_all_of_it() -> None:
    """By the same names."""
    assert visit_value(OTHER) == {
        "controller": "rail",
        "wrong": [],
        "said": [],
        "would_change": ["s1: would be told which pixels it is"],
        "took_ms": [7],
    }
