"""Words without a mapping cross the local socket whole."""

from __future__ import annotations

import json

import pytest

from bridge.facts.words import WordRecord
from bridge.recording.plain import NotOfTypeError
from bridge.service.word_lines import words_met, words_of, words_plain
from tests.engine.workroom import World, heard, said


def _world() -> World:
    world = World().begin()
    world.feed(heard(said(doing="adrift")))
    return world


def test_they_come_back_as_they_were() -> None:
    """By way of JSON."""
    view = _world().core.view()
    sent = json.loads(json.dumps(words_plain(view)))
    (met,) = words_of(sent)
    assert (met,) == words_met(view)
    assert (met.printer, met.word.fact, met.word.word) == ("kestrel", "state", "adrift")
    assert isinstance(met.word, WordRecord)


@pytest.mark.parametrize("plain", [None, {}, [None], [{"printer": "kestrel"}], ["adrift"]])
def test_anything_else_is_refused(plain: object) -> None:
    """A daemon of another version may answer something else."""
    with pytest.raises(NotOfTypeError):
        words_of(plain)
