"""Records: read back whole by the word for their kind, refused in words."""

from __future__ import annotations

import json
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.engine.records import Happening, HoldRecord, StateRecord, key_of
from bridge.recording import RecordingError
from bridge.recording.records import KINDS, record_of, record_plain
from tests.recording.made_up import of


@given(st.one_of(*map(of, get_args(StateRecord))))
def test_a_state_is_read_back_whole(record: StateRecord) -> None:
    """Through JSON, by the kind of its key."""
    text = json.dumps(record_plain(record))
    assert record_of(key_of(record)[0], json.loads(text)) == record


def test_every_state_has_its_word() -> None:
    """A new kind of record joins the table."""
    assert set(KINDS.values()) == set(get_args(StateRecord))


def test_a_happening_is_written_by_its_fields() -> None:
    """History is kept beside the states, in the same form."""
    plain = record_plain(Happening("segment", "filling", 5, segment="frame"))
    assert (plain["subject"], plain["what"], plain["wall_ms"]) == ("segment", "filling", 5)
    assert "kind" not in plain


HELD = {"segment": "frame", "scene": "dark", "until_wall_ms": None, "who": "Ada"}
REFUSED = {
    "a kind unheard of": ("shelf", HELD, "none of alarm, prompt, memory, hold, words"),
    "another kind's": ("alarm", HELD, "AlarmRecord has"),
    "a time that is a text": ("hold", {**HELD, "until_wall_ms": "1"}, "until_wall_ms: '1' is no"),
    "nothing": ("hold", None, "None is no HoldRecord"),
}


@pytest.mark.parametrize(("kind", "plain", "why"), REFUSED.values(), ids=REFUSED.keys())
def test_a_damaged_record_is_one_clear_error(kind: str, plain: object, why: str) -> None:
    """Never half a record."""
    assert record_of("hold", HELD) == HoldRecord("frame", "dark", None, "Ada")
    with pytest.raises(RecordingError, match=why):
        record_of(kind, plain)
