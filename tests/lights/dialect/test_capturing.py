"""A look of somebody's is kept as it was written, and given back so."""

from __future__ import annotations

import json

from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.places import compile_place
from bridge.lights.dialect.capturing import Capturing, Kept
from bridge.lights.dialect.grammar import CaptureTemplate
from bridge.lights.dialect.replies import Misread
from tests.lights.dialect.building import RACK, WALL, grammar_of, read_of
from tests.lights.dialect.test_stored_problems import RESTORE

CAPTURING = Capturing(
    grammar_of(), CaptureTemplate(read_of(values=()), compile_place("/look")), RESTORE
)
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
    max_leaves=8,
)


@given(json_values)
def test_what_was_there_comes_back_as_it_was(look: object) -> None:
    """Whatever it is: it is kept, not understood."""
    body = json.dumps({"list": [{"bar": 1}, {"bar": 2, "look": look}]}).encode()
    kept = CAPTURING.captured(body, RACK)
    assert isinstance(kept, Kept)
    request = CAPTURING.restore(RACK, kept)
    assert request.path == "/bars/2"
    assert json.loads(request.body or b"") == {"look": look}


def test_what_is_not_there_is_told() -> None:
    """The segment's item, or the place in it."""
    gone = CAPTURING.captured(b'{"list": []}', WALL)
    bare = CAPTURING.captured(b'{"list": [{"bar": 1}]}', WALL)
    assert gone == Misread("the answer has nothing about wall")
    assert bare == Misread("the answer has nothing at /look of wall")
    assert isinstance(CAPTURING.captured(b"<html>", WALL), Misread)


def test_the_request_is_the_segments_own() -> None:
    """As a read's is."""
    assert CAPTURING.capture(WALL).path == "/bars"
