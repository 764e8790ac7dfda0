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

from bridge.engine.actions import Action, Ask, Note, Poll, Publish, Record, Request, Tell
from bridge.engine.events import Event, Heard, Settings, Wished
from bridge.engine.records import Happening, HoldRecord
from bridge.engine.site import Site
from bridge.engine.wishes import Wish
from bridge.facts.moment import Moment
from bridge.recording import RecordingError, action_text, event_of, event_text
from bridge.recording.canonical import END_MS
from tests.engine.workroom import World, said, scattered, workroom
from tests.recording.made_up import of
from tests.structure.trees import ROOT

#: Each kind of event as often as the others; settings are tried by themselves.
EVENTS: st.SearchStrategy[Event] = st.one_of(
    *(of(kind) for kind in get_args(Event) if kind is not Settings)
)
INSTANTS = st.integers(0, END_MS - 1)
MOMENTS = st.builds(Moment, INSTANTS, st.none() | INSTANTS)


def _no_site(_texts: Mapping[str, str]) -> Site:
    raise AssertionError


@pytest.mark.parametrize("wish", get_args(Wish))
@given(st.data())
def test_every_wish_is_read_back_whole(wish: type[Wish], data: st.DataObject) -> None:
    """Also one whose fields another wish has too."""
    event = Wished("t", "Ada", data.draw(of(wish)))
    assert event_of(event_text(event, Moment(1)), _no_site) == (event, Moment(1))


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


ACTIONS: dict[str, tuple[Action, str]] = {
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
    "record of a state": (
        Record(2, HoldRecord("frame", None, 7, "Ada"), durable=True),
        (
            '{"action":"Record","durable":true,"number":2,"what":{"kind":"HoldRecord",'
            '"scene":null,"segment":"frame","until_wall_ms":7,"who":"Ada"}}'
        ),
    ),
    "record of what happened": (
        Record(3, Happening("job", "completed", None, printer="kestrel", progress=1)),
        (
            '{"action":"Record","durable":false,"number":3,"what":{"after_ms":null,"cause":"",'
            '"kind":"Happening","name":"","occurrence":"","printer":"kestrel","progress":1.0,'
            '"segment":"","subject":"job","wall_ms":null,"what":"completed","who":""}}'
        ),
    ),
    "tell": (
        Tell("t", taken=True, kept=False, why="not kept"),
        '{"action":"Tell","kept":false,"taken":true,"token":"t","why":"not kept"}',
    ),
    "publish": (
        Publish("shed", "alder/told", b"1"),
        '{"action":"Publish","payload":{"text":"1"},"source":"shed","topic":"alder/told"}',
    ),
}


def test_every_kind_of_action_is_tried() -> None:
    """A new action joins the table above."""
    assert {type(action) for action, _ in ACTIONS.values()} == set(get_args(Action))


@pytest.mark.parametrize(("action", "line"), ACTIONS.values(), ids=ACTIONS.keys())
def test_actions_are_written_in_one_way(action: Action, line: str) -> None:
    """Keys sorted, nothing spaced."""
    assert action_text(action) == line


DAMAGED = {
    "not JSON": ("{", "not JSON"),
    "no object": ("[1]", "not an object"),
    "no event": ("{}", "its event is none of"),
    "an event unheard of": ('{"event":"Exploded"}', "its event is none of"),
    "no moment": ('{"event":"Due"}', "not whole milliseconds"),
    "a moment that is a fraction": ('{"event":"Due","at_ms":1.5,"wall_ms":null}', "whole"),
    "a moment before all": ('{"event":"Due","at_ms":-1,"wall_ms":null}', "from 0 to below"),
    "a moment after all": ('{"event":"Due","at_ms":1,"wall_ms":1e400}', "not whole"),
    "a year that no calendar has": (
        '{"event":"Due","at_ms":1,"wall_ms":9007199254740992}',
        "from 0 to below",
    ),
    "a field missing": ('{"event":"Started","at_ms":1,"wall_ms":null}', "Started has seed"),
    "a field too many": ('{"event":"Due","at_ms":1,"wall_ms":null,"x":1}', "Due has nothing"),
    "a field of another kind": (
        '{"event":"Started","at_ms":1,"wall_ms":null,"seed":7}',
        "7 is no str",
    ),
    "no such fate": (
        '{"event":"Unanswered","at_ms":1,"wall_ms":null,"request":1,"fate":"x","why":""}',
        "'x' is no Fate, which are never left, maybe applied",
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
    "a record of no kind": (
        (
            '{"event":"Restored","at_ms":1,"wall_ms":null,"heard_until_wall_ms":null,'
            '"records":[{"segment":"frame"}]}'
        ),
        r"records\[0\]: .* has no kind",
    ),
    "a wish of no kind": (
        '{"event":"Wished","at_ms":1,"wall_ms":null,"token":"t","who":"","wish":{"kind":"Dance"}}',
        "wish.kind: 'Dance' is none of Acknowledge, Reset",
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
