"""Codes are compared without guessing."""

from __future__ import annotations

import pytest

from bridge.facts.codes import key_of, set_of, shown, table_of, written
from bridge.facts.reader import Scalar


@pytest.mark.parametrize(
    ("code", "raw", "only_text", "found"),
    [
        (1, 1, False, True),
        (1, 1.0, False, True),
        (1, True, False, False),
        (True, 1, False, False),
        (True, True, False, True),
        (False, 0, False, False),
        (0, False, False, False),
        ("1", 1, False, False),
        (1, "1", False, False),
        (1, "1", True, True),
        (20, "20", True, True),
        (20, "020", True, False),
        (2.5, "2.5", True, True),
        (True, "true", True, True),
        (True, "True", True, False),
        (None, None, False, True),
        (None, "null", True, True),
        (None, 0, False, False),
        ("a", "A", False, False),
        ("a", [], False, False),
        ("a", {}, False, False),
    ],
)
def test_lookup(code: Scalar, raw: object, only_text: bool, found: bool) -> None:
    """Strict in types; a text source has the text that JSON writes of a code."""
    assert (key_of(raw) in set_of([code], only_text=only_text)) is found
    assert (key_of(raw) in table_of({code: "x"}, only_text=only_text)) is found


def test_a_text_of_its_own_wins() -> None:
    """Where both 1 and "1" are codes, a text means the text."""
    assert table_of({1: "number", "1": "text"}, only_text=True)["1"] == "text"


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        ("word", "word"),
        ("x" * 100, "x" * 79 + "…"),
        (True, "true"),
        (None, "null"),
        (20, "20"),
        (2.5, "2.5"),
        (10**4000, "a very long integer"),
        ({"a": 1}, "an object"),
        ([1], "a list"),
    ],
)
def test_shown(raw: object, text: str) -> None:
    """As JSON writes it, text bare, bounded."""
    assert shown(raw) == text


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        ("laying", "laying"),
        ("at it", "at it"),
        (20, "20"),
        ("20", '"20"'),
        (-1.5, "-1.5"),
        ("-1.5", '"-1.5"'),
        (".5", '".5"'),
        ("0x1F", '"0x1F"'),
        (True, "true"),
        ("true", '"true"'),
        ("False", '"False"'),
        (None, "null"),
        ("null", '"null"'),
        ("~", '"~"'),
        ("", '""'),
        (" laying", '" laying"'),
        ('"laying"', '"\\"laying\\""'),
        ("a\nb", '"a\\nb"'),
        ("größe", "größe"),
        ({"a": 1}, "{…}"),
        ([1], "[…]"),
        ("[…]", '"[…]"'),
        ("x" * 100, "x" * 79 + "…"),
    ],
)
def test_written(raw: object, text: str) -> None:
    """So that a number cannot be taken for the text that looks like it."""
    assert written(raw) == text
