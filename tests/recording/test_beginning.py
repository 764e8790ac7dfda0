"""The start lines of a later part: settings, states and sources as they stood."""

from __future__ import annotations

import pytest

from bridge.engine.actions import Record
from bridge.engine.core import Core
from bridge.engine.events import (
    Due,
    Event,
    Heard,
    Restored,
    Settings,
    SourceLost,
    SourceUp,
    Started,
)
from bridge.engine.hearing import UP as UP_NOW
from bridge.engine.records import Happening, HoldRecord
from bridge.facts.moment import Moment
from bridge.recording.beginning import LOOK_BACK_MS, Beginning
from tests.engine.workroom import workroom

SETTINGS = Settings(workroom(), "digest")


def at(ms: int) -> Moment:
    """An instant."""
    return Moment(ms, 1_000_000 + ms)


NOW = at(99)


def _held(scene: str | None) -> HoldRecord:
    return HoldRecord("s1", scene, None, "Ada")


def _begun(*events: Event, room_bytes: int = 1000) -> list[tuple[int, Event]]:
    """What a new part begins with, one event a millisecond having gone before."""
    beginning = Beginning(room_bytes)
    for ms, event in enumerate(events):
        beginning.take(event, at(ms), ())
    return [(each.moment.ms, each.event) for each in beginning.events(2, NOW)]


def _heard(topic: str, body: bytes | None) -> Heard:
    return Heard("a", topic, body)


UP = SourceUp("a", ("x",))
BEGUN: dict[str, tuple[tuple[Event, ...], list[tuple[int, Event]]]] = {
    "no settings yet": ((Started("s"),), []),
    "nothing kept": ((Started("s"), SETTINGS), [(99, Started("s.2")), (99, SETTINGS)]),
    "nothing restored": (
        (Started("s"), Restored(()), SETTINGS),
        [(99, Started("s.2")), (99, Restored((), 1_000_099)), (99, SETTINGS)],
    ),
    "restored": (
        (Started("s"), Restored((_held("dark"),), 5), SETTINGS),
        [(99, Started("s.2")), (99, Restored((_held("dark"),), 1_000_099)), (99, SETTINGS)],
    ),
    "sources, at their time": (
        (Started("s"), SETTINGS, SourceUp("b"), UP, SourceLost("b", "gone"), Due()),
        [(3, Started("s.2")), (3, SETTINGS), (3, UP)],
    ),
    "the last message of each address, at its time": (
        (Started("s"), SETTINGS, UP, _heard("t", b"1"), _heard("u", b"2"), _heard("t", b"3")),
        [
            (2, Started("s.2")),
            (2, SETTINGS),
            (2, UP),
            (4, _heard("u", b"2")),
            (5, _heard("t", b"3")),
        ],
    ),
    "what was said to be unchanged": (
        (Started("s"), SETTINGS, _heard("t", b"1"), *[_heard("t", None)] * 2, _heard("v", None)),
        [(2, Started("s.2")), (2, SETTINGS), (2, _heard("t", b"1")), (4, _heard("t", None))],
    ),
    "nothing of a source that was lost": (
        (Started("s"), SETTINGS, UP, _heard("t", b"1"), SourceLost("a", "gone")),
        [(99, Started("s.2")), (99, SETTINGS)],
    ),
}


@pytest.mark.parametrize(("events", "begun"), BEGUN.values(), ids=BEGUN.keys())
def test_a_part_begins_with_what_stands(
    events: tuple[Event, ...], begun: list[tuple[int, Event]]
) -> None:
    """The settings, every kept state, the sources that are up, and what they said last."""
    assert _begun(*events) == begun


def test_it_looks_back_ten_minutes_and_no_further() -> None:
    """A link that was up for days: whatever is fresh for less than that is old by then."""
    beginning = Beginning()
    early: tuple[Event, ...] = (Started("s"), SETTINGS, UP, _heard("t", b"1"))
    for ms, event in enumerate(early):
        beginning.take(event, at(ms), ())
    beginning.take(_heard("u", b"2"), at(LOOK_BACK_MS), ())
    begun = beginning.events(2, at(LOOK_BACK_MS + 50))
    assert [each.moment for each in begun] == [*[at(50)] * 4, at(LOOK_BACK_MS)]


def test_the_largest_messages_go_first_where_room_is_short() -> None:
    """And what is replaced makes room."""
    small, large = _heard("s", b"1"), _heard("l", b"1" * 50)
    start = (Started("s"), SETTINGS)
    kept = [event for _, event in _begun(*start, large, small, room_bytes=20)]
    assert (small in kept, large in kept) == (True, False)
    many = [_heard("s", b"1") for _ in range(100)]
    assert small in [event for _, event in _begun(*start, *many, room_bytes=20)]


def test_the_last_record_of_each_state_is_restored() -> None:
    """And no history."""
    beginning = Beginning()
    for event in (Started("s"), Restored((_held("dark"),)), SETTINGS):
        beginning.take(event, at(0), ())
    happened = Record(2, Happening("hold", "released", None))
    beginning.take(Due(), at(1), (Record(1, _held(None)), happened))
    assert beginning.events(2, NOW)[1].event == Restored((_held(None),), 1_000_099)


def test_a_core_can_begin_with_it() -> None:
    """The order is the one that a core wants."""
    core = Core()
    for ms, event in _begun(Started("s"), Restored(()), SETTINGS, SourceUp("shed")):
        core.handle(event, at(ms))
    assert core.view().sources["shed"] == UP_NOW
