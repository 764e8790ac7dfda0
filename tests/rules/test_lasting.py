"""A row shows only once it held for as long as it says, without a break."""

from __future__ import annotations

from bridge.facts.values import FactValue, Unknown, Why
from bridge.rules.conditions import SymbolIs
from bridge.rules.lasting import Lasted
from bridge.rules.table import Row, Source, lasting_for

IDLE = {"state": "idle"}
BUSY = {"state": "processing"}
LOST: dict[str, FactValue] = {"state": Unknown(Why.NOT_FRESH)}


def lasted(for_ms: int = 1000) -> Lasted:
    """A row that waits for a resting printer."""
    lasting = lasting_for("wall", "night", for_ms, "1s")
    when = (SymbolIs("state", frozenset({"idle"})),)
    row = Row("night", when, "dark", "resting", Source("rules.yaml", 1, 1), lasting)
    return Lasted(row, lasting)


def test_it_has_lasted_exactly_at_its_time() -> None:
    """However late it is settled, and not a millisecond before."""
    row = lasted()
    assert row.judge(IDLE, 100)
    assert (row.value, row.deadline()) == (False, 1100)
    assert not row.settle(1099)
    assert row.settle(1100)
    assert (row.value, row.deadline()) == (True, None)


def test_the_same_again_is_no_break() -> None:
    """Only another truth starts it anew."""
    row = lasted()
    row.judge(IDLE, 0)
    assert not row.judge(IDLE, 900)
    assert row.judge(IDLE, 1000)
    assert row.value is True


def test_false_and_unknown_are_breaks() -> None:
    """And unknown is told as such: what stands below may not reassure."""
    row = lasted()
    row.judge(IDLE, 0)
    assert not row.judge(BUSY, 500)
    assert (row.value, row.deadline()) == (False, None)
    row.judge(IDLE, 600)
    assert row.judge(LOST, 700)
    assert isinstance(row.value, Unknown)
    assert row.judge(IDLE, 800)
    assert row.deadline() == 1800


def test_no_time_at_all_is_at_once() -> None:
    """A row that lasts for nothing waits for nothing."""
    row = lasted(0)
    row.judge(IDLE, 5)
    assert row.value is True
