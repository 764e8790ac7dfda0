"""The format: the same line for the same thing, read back whole, refused in one sentence."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.engine.actions import Ask, Note, Poll, Request
from bridge.engine.events import (
    Answered,
    Clock,
    Due,
    Event,
    Fate,
    Heard,
    PollFailed,
    Settings,
    SourceLost,
    SourceUp,
    Started,
    Stopping,
    Unanswered,
)
from bridge.engine.site import Site
from bridge.facts.moment import Moment
from bridge.recording import RecordingError, action_text, event_of, event_text
from tests.engine.workroom import World, said, scattered, workroom
from tests.structure.trees import ROOT

TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
WHOLE = st.integers(0, 2**53)
EVENTS: st.SearchStrategy[Event] = st.one_of(
    st.builds(Started, TEXTS),
    st.builds(Clock),
    st.builds(Due),
    st.builds(Stopping),
    st.builds(SourceUp, TEXTS, st.lists(TEXTS, max_size=3).map(tuple)),
    st.builds(SourceLost, TEXTS, TEXTS),
    st.builds(Heard, TEXTS, TEXTS, st.none() | st.binary(max_size=20), st.booleans()),
    st.builds(PollFailed, TEXTS, TEXTS, st.none() | WHOLE),
    st.builds(Answered, WHOLE, st.integers(100, 599), st.binary(max_size=20), st.none() | WHOLE),
    st.builds(Unanswered, WHOLE, st.sampled_from(Fate), TEXTS),
)
MOMENTS = st.builds(Moment, WHOLE, st.none() | WHOLE)


def _no_site(_texts: Mapping[str, str]) -> Site:
    raise AssertionError


def test_every_kind_of_event_is_tried() -> None:
    """A new event joins the strategy above."""
    tried = {Started, Settings, Clock, SourceUp, SourceLost, Heard, PollFailed, Answered}
    assert set(get_args(Event)) == tried | {Unanswered, Due, Stopping}


@given(EVENTS, MOMENTS)
def test_an_event_is_read_back_whole(event: Event, moment: Moment) -> None:
    """On one line of ASCII, whatever its bytes are."""
    line = event_text(event, moment)
    assert line.isascii()
    assert "\n" not in line
    assert event_of(line, _no_site) == (event, moment)


def test_settings_are_their_text_and_digest() -> None:
    """The site is loaded anew from the texts."""
    site = workroom()
    heard: list[Mapping[str, str]] = []

    def site_of(texts: Mapping[str, str]) -> Site:
        heard.append(texts)
        return site

    line = event_text(Settings(site, "d1"), Moment(5, 6))
    assert event_of(line, site_of) == (Settings(site, "d1"), Moment(5, 6))
    assert heard == [site.texts]


ACTIONS = {
    "poll": (Poll("a", whole=True), '{"action":"Poll","address":"a","whole":true}'),
    "ask": (
        Ask("shed", "t", b"\xff", "kestrel", "all"),
        (
            '{"action":"Ask","address":"t","name":"all","payload":{"base64":"/w=="},'
            '"printer":"kestrel","source":"shed"}'
        ),
    ),
    "note": (
        Note("info", "decided", {"b": 1, "a": None}),
        '{"action":"Note","event":"decided","fields":{"a":null,"b":1},"level":"info"}',
    ),
    "request": (
        Request(1, "door", "show", "PUT", "/bars/1", (("A", "b"),), b"{}", 3000, ("frame",)),
        (
            '{"action":"Request","body":{"text":"{}"},"controller":"door","headers":[["A","b"]],'
            '"method":"PUT","number":1,"purpose":"show","segments":["frame"],"target":"/bars/1",'
            '"timeout_ms":3000}'
        ),
    ),
}


@pytest.mark.parametrize(("action", "line"), ACTIONS.values(), ids=ACTIONS.keys())
def test_actions_are_written_in_one_way(action: Poll | Ask | Note | Request, line: str) -> None:
    """Keys sorted, nothing spaced."""
    assert action_text(action) == line


DAMAGED = {
    "not JSON": ("{", "not JSON"),
    "no object": ("[1]", "not an object"),
    "no event": ("{}", "its event is none of"),
    "an event unheard of": ('{"event":"Exploded"}', "its event is none of"),
    "no moment": ('{"event":"Due"}', "not whole milliseconds"),
    "a moment that is a fraction": ('{"event":"Due","at_ms":1.5,"wall_ms":null}', "whole"),
    "a field missing": ('{"event":"Started","at_ms":1,"wall_ms":null}', "Started has seed"),
    "a field too many": ('{"event":"Due","at_ms":1,"wall_ms":null,"x":1}', "Due has nothing"),
    "a field of another kind": (
        '{"event":"Started","at_ms":1,"wall_ms":null,"seed":7}',
        "7 is no str",
    ),
    "no such fate": (
        '{"event":"Unanswered","at_ms":1,"wall_ms":null,"request":1,"fate":"x","why":""}',
        "no fate",
    ),
    "bytes in a third form": (
        (
            '{"event":"Answered","at_ms":1,"wall_ms":null,"request":1,"status":200,'
            '"body":{"hex":"00"},"retry_after_ms":null}'
        ),
        "as text or as base64",
    ),
    "base64 that is none": (
        (
            '{"event":"Answered","at_ms":1,"wall_ms":null,"request":1,"status":200,'
            '"body":{"base64":"*"},"retry_after_ms":null}'
        ),
        "cannot be read",
    ),
    "an event that is a list": ('{"event":[]}', "its event is none of"),
    "nested without end": ("[" * 100_000, "not JSON"),
    "half a surrogate pair": (
        (
            '{"event":"Answered","at_ms":1,"wall_ms":null,"request":1,"status":200,'
            '"body":{"text":"\\ud800"},"retry_after_ms":null}'
        ),
        "half a surrogate pair",
    ),
    "a filter that is no text": (
        '{"event":"SourceUp","at_ms":1,"wall_ms":null,"source":"shed","refused":[7]}',
        "7 is no str",
    ),
    "settings with a number for a text": (
        '{"event":"Settings","at_ms":1,"wall_ms":null,"digest":"d","texts":{"site.yaml":1}}',
        "1 is no str",
    ),
    "settings without texts": ('{"event":"Settings","at_ms":1,"wall_ms":null}', "need a digest"),
}


@pytest.mark.parametrize(("line", "why"), DAMAGED.values(), ids=DAMAGED.keys())
def test_a_damaged_line_is_one_clear_error(line: str, why: str) -> None:
    """Never a trace."""
    with pytest.raises(RecordingError, match=why):
        event_of(line, _no_site)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


@given(EVENTS, MOMENTS, st.data())
def test_whatever_stands_in_a_field_gives_an_event_or_the_error(
    event: Event, moment: Moment, data: st.DataObject
) -> None:
    """And an event that was accepted is written as it was read."""
    said_of_it = json.loads(event_text(event, moment))
    said_of_it[data.draw(st.sampled_from(sorted(said_of_it)))] = data.draw(JSON)
    try:
        read, at = event_of(json.dumps(said_of_it), _no_site)
    except RecordingError:
        return
    assert event_of(event_text(read, at), _no_site) == (read, at)


def _evening() -> list[str]:
    world = World(site=scattered(), page=said(doing="at it", share=0.4)).begin()
    for number in range(20):
        world.run_for(700)
        world.feed(Heard("shed", "alder/kestrel/page", said(doing="at it", share=number / 20)))
    return [action_text(action) for _, action in world.actions]


_SCRIPT = """
from tests.recording.test_canonical import _evening
print("\\n".join(_evening()))
"""


@pytest.mark.parametrize("seed", ["0", "1", "77"])
def test_the_same_events_give_the_same_actions(seed: str) -> None:
    """Byte for byte, however Python hashes (I10)."""
    done = subprocess.run(
        [sys.executable, "-c", _SCRIPT],
        cwd=ROOT,
        env={"PYTHONHASHSEED": seed, "PATH": ""},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert done.stdout.splitlines() == _evening()
