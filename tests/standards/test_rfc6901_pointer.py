r"""RFC 6901, JSON Pointer: the examples of section 5, and what sections 3, 4 and 7 forbid.

Source: https://www.rfc-editor.org/rfc/rfc6901 (April 2013).
"""

from __future__ import annotations

import json

import pytest

from bridge.facts.places import ABSENT, PlaceError, compile_place

DOCUMENT = json.loads(r"""
{
   "foo": ["bar", "baz"],
   "": 0,
   "a/b": 1,
   "c%d": 2,
   "e^f": 3,
   "g|h": 4,
   "i\\j": 5,
   "k\"l": 6,
   " ": 7,
   "m~n": 8
}
""")


@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("", DOCUMENT),
        ("/foo", ["bar", "baz"]),
        ("/foo/0", "bar"),
        ("/", 0),
        ("/a~1b", 1),
        ("/c%d", 2),
        ("/e^f", 3),
        ("/g|h", 4),
        ("/i\\j", 5),
        ('/k"l', 6),
        ("/ ", 7),
        ("/m~0n", 8),
    ],
)
def test_section_5(pointer: str, value: object) -> None:
    """Every pointer of the section, as a JSON string holds it, unescaped."""
    assert compile_place(pointer).find(DOCUMENT) == value


@pytest.mark.parametrize(
    ("pointer", "document", "value"),
    [
        # §4: ~01 is ~1 and not /, because ~1 is undone before ~0.
        ("/~01", {"~1": 1, "/": 2}, 1),
        # §4: an index has no leading zeros and no sign; "-" is past the last element (§7).
        ("/00", ["a"], ABSENT),
        ("/01", ["a", "b"], ABSENT),
        ("/+0", ["a"], ABSENT),
        ("/-", ["a"], ABSENT),
        ("/1", ["a"], ABSENT),
        # §4: whether a token is a name or an index is decided by what it meets.
        ("/0", {"0": "name"}, "name"),
        ("/-", {"-": "name"}, "name"),
    ],
)
def test_section_4(pointer: str, document: object, value: object) -> None:
    """Evaluation, and section 7: a place that is not there is an error, here: absent."""
    assert compile_place(pointer).find(document) == value


@pytest.mark.parametrize("text", ["foo", "/~", "/~2", "/a~", "#/foo"])
def test_section_3(text: str) -> None:
    """The grammar: tokens start with a slash, ~ stands before 0 or 1 only."""
    with pytest.raises(PlaceError):
        compile_place(text)
