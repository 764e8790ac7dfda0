"""Put aside for a time, or out of service."""

from __future__ import annotations

import pytest

from bridge.facts.moment import Moment
from bridge.rules.alarm_records import OutOfServiceRecord, Refusal, ShelfRecord, WhyRefused
from bridge.rules.shelving import Overlays
from tests.rules.alarms import WALL_MS, at

HOUR_MS = 3_600_000


@pytest.mark.parametrize(
    ("until_ms", "reason", "now", "why"),
    [
        (WALL_MS + HOUR_MS, "  ", at(0), WhyRefused.NO_REASON),
        (WALL_MS + HOUR_MS, "spool ordered", Moment(0), WhyRefused.NO_CLOCK),
        (WALL_MS, "spool ordered", at(0), WhyRefused.PAST),
        (WALL_MS + 1, "spool ordered", at(0), None),
    ],
)
def test_shelving(until_ms: int, reason: str, now: Moment, why: WhyRefused | None) -> None:
    """It needs a reason, a wall clock, and an end that is to come."""
    answer = Overlays().shelve(until_ms, reason, "ann", 1, now)
    assert (answer and answer.why) is why


def test_it_hides_when_it_is_written_down() -> None:
    """And not before; to prolong it needs no second wait."""
    over = Overlays()
    over.shelve(WALL_MS + 1_000, "spool ordered", "ann", 7, at(0))
    seen = [over.symbol]
    for number in (6, 7):
        over.confirmed(number)
        seen.append(over.symbol)
    over.shelve(WALL_MS + 9_000, "spool not come", "ann", 8, at(500))
    assert [*seen, over.symbol] == [None, None, "shelved", "shelved"]
    assert over.due_ms == 9_000


@pytest.mark.parametrize(("step_ms", "due_ms"), [(0, 10_000), (4_000, 6_000), (-4_000, 14_000)])
def test_the_end_follows_the_wall_clock(step_ms: int, due_ms: int) -> None:
    """A person gave a time of day: a stepped clock moves the instant."""
    over = Overlays()
    over.shelve(WALL_MS + 10_000, "spool ordered", "ann", 1, at(0))
    over.clock(Moment(0, WALL_MS + step_ms))
    assert over.due_ms == due_ms


def test_restored_shelves_wait_for_the_wall_clock() -> None:
    """Out of service has no end to wait for, and acts at once."""
    over = Overlays()
    over.restore(ShelfRecord(WALL_MS + 10_000, "spool ordered", "ann"), None, Moment(0))
    assert (over.symbol, over.due_ms) == (None, None)
    over.clock(at(3_000))
    assert (over.symbol, over.due_ms) == ("shelved", 10_000)
    out = Overlays()
    out.restore(None, OutOfServiceRecord("sensor broken", "ann", WALL_MS), Moment(0))
    assert out.symbol == "out-of-service"
    out.clock(at(0))
    assert out.records(at(0)) == (None, OutOfServiceRecord("sensor broken", "ann", WALL_MS))


def test_out_of_service() -> None:
    """Once, with a reason, until returned; it hides what is shelved."""
    over = Overlays()
    assert over.take_out(" ", "ann", 1, at(0)) == Refusal(WhyRefused.NO_REASON)
    assert over.take_out("sensor broken", "ann", 1, at(0)) is None
    assert (over.symbol, over.any) == (None, True)
    over.confirmed(1)
    over.shelve(WALL_MS + 10_000, "spool ordered", "ann", 2, at(0))
    over.confirmed(2)
    assert over.symbol == "out-of-service"
    twice = over.take_out("again", "bob", 3, at(0))
    assert twice == Refusal(WhyRefused.ALREADY_OUT_OF_SERVICE, "ann, sensor broken")
    assert over.return_to_service() is None
    assert over.symbol == "shelved"
    assert over.return_to_service() == Refusal(WhyRefused.IN_SERVICE)


def test_taken_back() -> None:
    """Before its time; and only what is there."""
    over = Overlays()
    assert over.unshelve() == Refusal(WhyRefused.NOT_SHELVED)
    over.shelve(WALL_MS + 10_000, "spool ordered", "ann", 1, at(0))
    over.confirmed(1)
    assert over.unshelve() is None
    assert (over.symbol, over.due_ms, over.any) == (None, None, False)


def test_records_come_back_the_same() -> None:
    """Whatever lies over it."""
    over = Overlays()
    over.shelve(WALL_MS + 10_000, "spool ordered", "ann", 1, at(0))
    over.take_out("sensor broken", "bob", 2, at(50))
    records = over.records(at(60))
    again = Overlays()
    again.restore(*records, at(70))
    assert again.records(at(80)) == records
    assert again.symbol == "out-of-service"
    again.clear()
    assert again.records(at(90)) == (None, None)
