"""An entry is put into a YAML file, and nothing else in it is touched."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.settings.document import Path, parse
from bridge.settings.inserting import (
    Code,
    Meaning,
    NotInsertedError,
    entry_written,
    with_entry,
)

AT: Path = ("a", 1, "values")


def _whole(*lines: str, newline: str = "\n") -> str:
    """A file whose second list item has the mapping in question."""
    return newline.join(("# top", "a:", "  - {x: 1}   # one", *lines, "", "z: 'last'", ""))


CASES = {
    "braces on one line": (
        ("  - {in: page, values: {A: idle, 'B': x}, k: [1]}  # say",),
        ("  - {in: page, values: {A: idle, 'B': x, NEW: stopped}, k: [1]}  # say",),
    ),
    "wide braces": (
        ("  - {values: { A: idle } }",),
        ("  - {values: { A: idle, NEW: stopped } }",),
    ),
    "a comma at the end": (
        ("  - {values: {A: idle,}}",),
        ("  - {values: {A: idle, NEW: stopped,}}",),
    ),
    "braces over lines": (
        ("  - values: {", "      A: idle,", "      B: x  # why", "    }"),
        ("  - values: {", "      A: idle,", "      B: x,  # why", "      NEW: stopped", "    }"),
    ),
    "braces over lines, a comma at the end": (
        ("  - values: {", "      A: idle,   # one", "    }"),
        ("  - values: {", "      A: idle,   # one", "      NEW: stopped,", "    }"),
    ),
    "braces over lines that end with the entry": (
        ("  - values: {A: idle,", "             B: x}  # both"),
        ("  - values: {A: idle,", "             B: x, NEW: stopped}  # both"),
    ),
    "a comma on a line of its own": (
        ("  - values: {", "      A: idle", "      , B: x", "    }"),
        ("  - values: {", "      A: idle", "      , B: x, NEW: stopped", "    }"),
    ),
    "a block": (
        ("  - values:", "      A: idle", "      B:   x   # why", "    k: 1"),
        ("  - values:", "      A: idle", "      B:   x   # why", "      NEW: stopped", "    k: 1"),
    ),
    "a block with a comment under it": (
        ("  - values:", "      A: idle", "      # nothing more", "    # back"),
        (
            "  - values:",
            "      A: idle",
            "      NEW: stopped",
            "      # nothing more",
            "    # back",
        ),
    ),
    "a block whose last meaning is a list": (
        ("  - values:", "      A:", "        - x", "        - y  # two"),
        ("  - values:", "      A:", "        - x", "        - y  # two", "      NEW: stopped"),
    ),
    "a block whose last meaning is a text over lines": (
        ("  - values:", "      A: |-", "        x"),
        ("  - values:", "      A: |-", "        x", "      NEW: stopped"),
    ),
    "a quoted text with a brace and a sign": (
        ("  - {values: {'}, #': \"a: {\"}, at: '/b'}",),
        ("  - {values: {'}, #': \"a: {\", NEW: stopped}, at: '/b'}",),
    ),
    "letters of more than one byte before it": (
        ("  - {unit: °C, värde: 'ö', values: {Ä: idle}}",),
        ("  - {unit: °C, värde: 'ö', values: {Ä: idle, NEW: stopped}}",),
    ),
}


@pytest.mark.parametrize("newline", ["\n", "\r\n"], ids=["lf", "crlf"])
@pytest.mark.parametrize(("before", "after"), CASES.values(), ids=CASES.keys())
def test_only_the_entry_is_new(
    before: tuple[str, ...], after: tuple[str, ...], newline: str
) -> None:
    """Comments, order, quotes, columns and line ends stay, whatever the style."""
    text = _whole(*before, newline=newline)
    assert with_entry(text, AT, "NEW", "stopped") == _whole(*after, newline=newline)


def test_a_file_without_a_last_line_end() -> None:
    """Stays one."""
    assert with_entry("a:\n  b: c", ("a",), "NEW", "x") == "a:\n  b: c\n  NEW: x"


@pytest.mark.parametrize(
    ("code", "meaning", "entry"),
    [
        ("word", "idle", "word: idle"),
        ("under way", "idle", "under way: idle"),
        (20, "idle", "20: idle"),
        ("20", "idle", '"20": idle'),
        (2.5, "idle", "2.5: idle"),
        (True, "idle", "true: idle"),
        ("true", "idle", '"true": idle'),
        (None, "idle", "null: idle"),
        ("", "idle", '"": idle'),
        ("012", "idle", '"012": idle'),
        ("on", "idle", "on: idle"),
        ("<<", "idle", '"<<": idle'),
        ("a: b", "idle", '"a: b": idle'),
        ("a, b", "idle", '"a, b": idle'),
        ("a #b", "idle", '"a #b": idle'),
        ("*a", "idle", '"*a": idle'),
        ("x: y}, evil: {z", "idle", '"x: y}, evil: {z": idle'),
        ('say "so"', "idle", 'say "so": idle'),
        ("a\nb", "idle", '"a\\nb": idle'),
        ("a\x7f\u2028b", "idle", '"a\\u007f\\u2028b": idle'),
        ("c", ("door-open", "cover-open-error"), "c: [door-open, cover-open-error]"),
        ("c", "yes: no", 'c: "yes: no"'),
    ],
)
def test_how_an_entry_is_written(code: Code, meaning: Meaning, entry: str) -> None:
    """Plain where YAML reads it as what it is, else in quotes."""
    assert entry_written(code, meaning) == entry


def test_where_it_cannot_be_put_in() -> None:
    """It says what to add, and in which line the mapping is."""
    text = "a:\n  ? k\n  : v\n"
    with pytest.raises(NotInsertedError, match="add NEW: x by hand") as refused:
        with_entry(text, ("a",), "NEW", "x")
    assert refused.value.line == 2


_WORDS = st.one_of(
    st.text(max_size=12),
    st.text(alphabet="ab:#{}[],&*'\"-? \n~01", max_size=10),
    st.integers(-(10**30), 10**30),
    st.booleans(),
    st.none(),
)


@settings(max_examples=150, deadline=None)
@given(words=st.lists(_WORDS, min_size=1, max_size=4), flow=st.booleans())
def test_whatever_the_word_is(words: list[Code], flow: bool) -> None:
    """The data is the old with the entry, by YAML's own reading; the old text is all there."""
    text = "a: {first: idle}\nz: 1\n" if flow else "a:\n  first: idle # here\nz: 1\n"
    wanted: dict[Any, str] = {"first": "idle"}
    for word in words:
        if word in wanted:
            continue
        changed = with_entry(text, ("a",), word, "stopped")
        wanted[word] = "stopped"
        entry = entry_written(word, "stopped")
        without = f", {entry}" if flow else f"\n  {entry}"
        assert changed.replace(without, "", 1) == text
        text = changed
    document, problems = parse("", text)
    assert problems == []
    assert repr(document.data["a"]) == repr(wanted)
