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
from bridge.engine.hearing import UP
from bridge.engine.records import Happening, HoldRecord
from bridge.facts.moment import Moment
from bridge.recording.beginning import Beginning
from tests.engine.workroom import workroom

SETTINGS = Settings(workroom(), "digest")
NOW = Moment(9, 1_000_009)


def _held(scene: str | None) -> HoldRecord:
    return HoldRecord("s1", scene, None, "Ada")


def _begun(*events: Event) -> list[Event]:
    beginning = Beginning()
    for event in events:
        beginning.take(event, ())
    return beginning.events(2, NOW)


BEGUN: dict[str, tuple[tuple[Event, ...], list[Event]]] = {
    "no settings yet": ((Started("s"),), []),
    "nothing kept": ((Started("s"), SETTINGS), [Started("s.2"), SETTINGS]),
    "nothing restored": (
        (Started("s"), Restored(()), SETTINGS),
        [Started("s.2"), Restored((), 1_000_009), SETTINGS],
    ),
    "restored": (
        (Started("s"), Restored((_held("dark"),), 5), SETTINGS),
        [Started("s.2"), Restored((_held("dark"),), 1_000_009), SETTINGS],
    ),
    "sources": (
        (
            Started("s"),
            SETTINGS,
            SourceUp("b"),
            SourceUp("a", ("x",)),
            SourceUp("c"),
            SourceLost("b", "gone"),
            Heard("a", "t", b"1"),
            Due(),
        ),
        [Started("s.2"), SETTINGS, SourceUp("a", ("x",)), SourceUp("c")],
    ),
}


@pytest.mark.parametrize(("events", "begun"), BEGUN.values(), ids=BEGUN.keys())
def test_a_part_begins_with_what_stands(events: tuple[Event, ...], begun: list[Event]) -> None:
    """The settings, every kept state, the sources that are up; nothing that was said."""
    assert _begun(*events) == begun


def test_the_last_record_of_each_state_is_restored() -> None:
    """And no history."""
    beginning = Beginning()
    for event in (Started("s"), Restored((_held("dark"),)), SETTINGS):
        beginning.take(event, ())
    happened = Record(2, Happening("hold", "released", None))
    beginning.take(Due(), (Record(1, _held(None)), happened))
    assert beginning.events(2, NOW)[1] == Restored((_held(None),), 1_000_009)


def test_a_core_can_begin_with_it() -> None:
    """The order is the one that a core wants."""
    core = Core()
    for event in _begun(Started("s"), Restored(()), SETTINGS, SourceUp("shed")):
        core.handle(event, NOW)
    assert core.view().sources["shed"] == UP
