"""What became of a message, and the one document it left."""

from __future__ import annotations

from bridge.facts.decoding import Unreadable
from bridge.facts.held import UNREADABLE, Held
from bridge.facts.places import ABSENT
from bridge.facts.values import Why


def test_every_way_of_being_unreadable_is_told() -> None:
    """The engine counts what could not be read by this."""
    assert set(UNREADABLE) == set(Unreadable)
    assert {unreadable.value: taken.value for unreadable, taken in UNREADABLE.items()} == {
        each.value: each.value for each in Unreadable
    }
    assert len(set(UNREADABLE.values())) == len(UNREADABLE)


def test_drop_forgets_the_document_but_not_the_beat_nor_the_order() -> None:
    """A printer that stands still is not fresh again because the broker came back."""
    held = Held("a", document={}, body=b"{}", why=None, expires_ms=5, sent_ms=1.0, grown=2)
    held.newest_ms, held.beat = 1.0, 7
    held.drop(Why.SOURCE_LOST)
    assert not held.is_held
    assert held == Held("a", document=ABSENT, why=Why.SOURCE_LOST, newest_ms=1.0, beat=7)


def test_null_is_a_document() -> None:
    """JSON's null was heard, which is not nothing."""
    assert Held("a", document=None).is_held
