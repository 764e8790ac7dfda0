"""What ``config/README.md`` shows to those who read our JSON is what the commands are held to."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest

from bridge.check.finding import Kind
from tests.cli.commands import CONFIG, SHAPES, hold_to_shape

EXAMPLE = re.compile(r"^```json (?P<shape>[a-z-]+)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)


def examples() -> list[tuple[str, str]]:
    """Each example's shape and text."""
    return EXAMPLE.findall((CONFIG / "README.md").read_text("utf-8"))


@pytest.mark.parametrize(("shape", "text"), examples())
def test_each_example_has_its_shape(shape: str, text: str) -> None:
    """The very schema that the command's own output is held to."""
    hold_to_shape(text, shape)


def test_each_shape_has_an_example() -> None:
    """And the other way round: nothing is held to a shape that nobody was told."""
    kept = {path.name.removesuffix(".schema.json") for path in Path(SHAPES).glob("*.schema.json")}
    assert {shape for shape, _ in examples()} == kept


@pytest.mark.parametrize("shape", sorted({shape for shape, _ in examples()}))
def test_a_shape_refuses_what_lacks_its_keys(shape: str) -> None:
    """So that the examples could fail."""
    with pytest.raises(jsonschema.ValidationError):
        hold_to_shape("{}", shape)


def test_each_kind_of_finding_is_told() -> None:
    """By its name programs tell findings apart, so none comes or goes unsaid."""
    kinds = {"settings", *(kind.value for kind in Kind)}
    schema = json.loads((SHAPES / "check.schema.json").read_text("utf-8"))
    assert set(schema["properties"]["findings"]["items"]["properties"]["kind"]["enum"]) == kinds
    told = (CONFIG / "README.md").read_text("utf-8").partition("| kind | what was found |")[2]
    assert set(re.findall(r"^\| `([a-z-]+)` \|", told.partition("\n\n")[0], re.MULTILINE)) == kinds
