"""YAML to plain data with positions, and what is refused on the way."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.settings.document import MOST_DEEP, parse

TEXT = """\
# a comment
segments:
  frame: {on: door, length: 120}
  rack:
    - first
    - {deep: "in here"}
20: number
"""

PLACES = [
    (("segments",), (2, 1), (3, 3)),
    (("segments", "frame"), (3, 3), (3, 10)),
    (("segments", "frame", "length"), (3, 21), (3, 29)),
    (("segments", "rack"), (4, 3), (5, 5)),
    (("segments", "rack", 0), (5, 7), (5, 7)),
    (("segments", "rack", 1, "deep"), (6, 8), (6, 14)),
    ((20,), (7, 1), (7, 5)),
    (("20",), (7, 1), (7, 5)),
    (("segments", "=mapping", "frame", "on"), (3, 11), (3, 15)),
    (("segments", "frame", "nowhere"), (3, 3), (3, 10)),
]


@pytest.mark.parametrize(("path", "key", "value"), PLACES)
def test_every_key_value_and_item_has_its_place(
    path: tuple[object, ...], key: tuple[int, int], value: tuple[int, int]
) -> None:
    """Lines and columns count from 1; a step that is not there is skipped."""
    document, problems = parse("site.yaml", TEXT)
    assert problems == []
    assert document.at(path, key=True) == key
    assert document.at(path) == value
    assert (document.source(path).line, document.source(path).column) == value


# YAML 1.2.2 §10.3.2, and what its older version read otherwise.
SCALARS = [
    ("", None),
    ("~", None),
    ("null", None),
    ("true", True),
    ("False", False),
    ("yes", "yes"),
    ("on", "on"),
    ("NO", "NO"),
    ("12", 12),
    ("-3", -3),
    ("012", 12),
    ("0o14", 12),
    ("0x1F", 31),
    ("1_000", "1_000"),
    ("22:00", "22:00"),
    ("1.5", 1.5),
    ("1e3", 1000.0),
    (".5", 0.5),
    ("2001-01-01", "2001-01-01"),
    ("5s", "5s"),
    ("80 %", "80 %"),
    ("'12'", "12"),
    ('"true"', "true"),
    ('""', ""),
    ('"\\u00e9"', "é"),
]


@pytest.mark.parametrize(("text", "value"), SCALARS)
def test_plain_words_are_read_as_yaml_1_2_says(text: str, value: object) -> None:
    """A state called ``on`` stays a word, and a number keeps its kind."""
    document, problems = parse("a.yaml", f"key: {text}\n")
    assert problems == []
    assert document.data["key"] == value
    assert type(document.data["key"]) is type(value)


REFUSED = [
    ("", "1:1: is empty"),
    ("# nothing\n", "1:1: is empty"),
    ("a: [1, 2\n", "2:1: is not YAML"),
    ("a:\n\tb: 1\n", "2:1: a tab indents"),
    ("a:\n  \tb: 1\n", "2:3: a tab indents"),
    ("a: \x01\n", "1:4: the control character U+0001"),
    ("a: b\x85\x9f\n", "1:6: the control character U+009F"),
    ("a: 1\nb: \ufeff\n", "2:4: the control character U+FEFF"),
    ("a: &x 1\n", "1:4: &x: anchors"),
    ("a: *x\n", "1:4: *x: there is no such anchor"),
    ("a: !!str 1\n", "1:4: the tag"),
    ("a: !own {}\n", "1:4: the tag"),
    ("<<: {a: 1}\n", "1:1: <<: merging"),
    ("a: 1\nb: 2\na: 3\n", "3:1: the key 'a' stands twice, first in line 1"),
    ("{1: a, 1.0: b}\n", "1:8: the key 1.0 (the same as 1) stands twice"),
    ("{0: a, false: b}\n", "1:8: the key false (the same as 0) stands twice"),
    ("? [a]\n: 1\n", "1:3: a list cannot be a key"),
    ("a: .nan\n", "1:4: .nan is no number"),
    ("a: -.inf\n", "1:4: -.inf is no number"),
    (f"a: {'9' * 5000}\n", "1:4: '9999"),
    ("a: 1e999\n", "1:4: '1e999' is too long a number"),
    ("--- {a: 1}\n--- {b: 2}\n", "2:1: a second document"),
    ("a: " + "[" * 100_000, "1:35: is nested more than 32 deep"),
]


@pytest.mark.parametrize(("text", "message"), REFUSED)
def test_what_yaml_can_do_and_a_setting_must_not(text: str, message: str) -> None:
    """One line for each, at its place; never an expansion, a loop or a trace."""
    _, problems = parse("a.yaml", text)
    assert len(problems) == 1
    assert str(problems[0]).startswith(f"a.yaml:{message}")


def test_a_refusal_does_not_stop_the_rest() -> None:
    """Several slips in one file are told together."""
    _, problems = parse("a.yaml", "a: &x 1\na: 2\nb: .inf\n? {c: 1}\n: 3\n")
    assert [problem.line for problem in problems] == [1, 2, 3, 4]


def test_refusals_end_somewhere() -> None:
    """A screen or two, not a million lines."""
    _, problems = parse("a.yaml", "".join(f"k{number}: &a 1\n" for number in range(1000)))
    assert len(problems) == 50


def test_the_deepest_that_is_allowed_is_read() -> None:
    """The cap is at its number, not beside it."""
    text = "[" * MOST_DEEP + "]" * MOST_DEEP
    assert parse("a.yaml", text)[1] == []
    assert parse("a.yaml", f"[{text}]")[1] != []


def test_windows_line_ends_are_read() -> None:
    """A file that was saved elsewhere has the same places."""
    document, problems = parse("a.yaml", "a: 1\r\nb:\r\n  c: 2\r\n")
    assert problems == []
    assert document.data == {"a": 1, "b": {"c": 2}}
    assert document.at(("b", "c")) == (3, 6)


LETTERS = st.text(st.characters(max_codepoint=0xD7FF), max_size=20)
DATA = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**9), 10**9) | LETTERS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(LETTERS, inner, max_size=4),
    max_leaves=20,
)


def paths(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[tuple[Any, ...], Any]]:  # noqa: ANN401
    """Every place in the data with what is there."""
    entries: list[tuple[Any, Any]] = []
    if isinstance(data, dict):
        entries = list(data.items())
    elif isinstance(data, list):
        entries = list(enumerate(data))
    found = [((*path, step), value) for step, value in entries]
    return found + [inner for step, value in entries for inner in paths(value, (*path, step))]


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(LETTERS.filter(lambda text: text != "<<"), DATA, min_size=1, max_size=4))
def test_json_is_yaml_and_every_place_is_true(data: dict[str, Any]) -> None:
    """Any JSON reads as itself, and at each place stands what the document says is there."""
    text = json.dumps(data)
    document, problems = parse("a.yaml", text)
    if any("<<" in path for path, _ in paths(data)):
        return
    assert problems == []
    assert document.data == data
    for path, value in paths(data):
        mark = document.at(path)
        assert text[mark.column - 1 :].startswith(json.dumps(value))
