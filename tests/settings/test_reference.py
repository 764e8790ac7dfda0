"""Every key in words, held to the models and to the page that people read."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from bridge.settings.reference import HEADING, reference
from bridge.settings.schema import schemas

README = Path(__file__).parents[2] / "config" / "README.md"
ROW = re.compile(
    r"^\| `(?P<key>[^`]+)` \| (?P<value>.*?) \| (?P<absent>.*?) \| (?P<meaning>.*) \|$"
)


def section(kind: str) -> str:
    """The part about one kind of file."""
    title = schemas()[kind]["title"]
    return reference().partition(f"### `{title}`\n")[2].partition("\n### ")[0]


def rows(kind: str) -> dict[str, tuple[str, str, str]]:
    """Value, default and meaning by key; of keys that several tables have, the last one's."""
    matches = (ROW.match(line) for line in section(kind).splitlines())
    return {m["key"]: (m["value"], m["absent"], m["meaning"]) for m in matches if m}


def keys_of(node: Any) -> set[str]:  # noqa: ANN401 - what JSON holds
    """Every key that a schema knows outside of alternatives, which are told in one cell."""
    found: set[str] = set()
    for key, each in node.get("properties", {}).items():
        found |= {key} | keys_of(each)
    for each in node.get("$defs", {}).values():
        found |= keys_of(each)
    return found


def test_the_page_is_what_is_generated() -> None:
    """Refreshed by: lampwright schema --reference, put below its last heading."""
    text = README.read_text("utf-8").partition(f"\n{HEADING}\n")[2]
    assert text.partition("\n### ")[2] == reference().partition("### ")[2]


@pytest.mark.parametrize("kind", schemas())
def test_no_key_is_missing(kind: str) -> None:
    """Those that are not acted on yet are named too."""
    text = section(kind)
    assert [key for key in sorted(keys_of(schemas()[kind])) if f"`{key}`" not in text] == []


@pytest.mark.parametrize(
    ("kind", "key", "expected"),
    [
        ("site", "pixels", ("whole number from 1 to 100000", "must be there")),
        ("site", "protocol", ("`auto`, `5` or `3.1.1`", "`auto`")),
        ("site", "keep_alive", ("number with ms, s, m, h or d", "`30s`")),
        ("site", "printers", ("list: name", "")),
        ("site", "credential", ("name of a credential", "must be there")),
        ("site", "client_id", ("text", "`lampwright`")),
        ("site", "poll", ("*poll*", "")),
        ("rules", "tables", ("mapping of names: *table*", "")),
        ("rules", "when", ("mapping, its keys below", "must be there")),
        ("legend", "brightness", ("number with %", "")),
        ("reader", "required", ("true or false", "`false`")),
        ("reader", "flags", ("`true`", "")),
        ("dialect", "to", ("list: number", "")),
        ("dialect", "requests", ("number with /s or /min", "")),
        ("dialect", "tolerance", ("number from 0", "`0`")),
    ],
)
def test_a_value_is_said_in_words(kind: str, key: str, expected: tuple[str, str]) -> None:
    """What may stand there, and what holds where it is left out."""
    assert rows(kind)[key][:2] == expected


@pytest.mark.parametrize("kind", schemas())
def test_every_key_says_what_it_is_for(kind: str) -> None:
    """In a sentence."""
    assert [key for key, (_, _, meaning) in rows(kind).items() if not meaning.endswith(".")] == []
