"""Each table of the reference has an example, which the files' own schema accepts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from bridge.check.site import findings
from bridge.settings.document import parse
from bridge.settings.load import load_site
from bridge.settings.reference_examples import EXAMPLES
from bridge.settings.schema import schemas
from tests.settings.test_schema import as_json

SCHEMAS = schemas()
CASES = [(kind, part) for kind, parts in EXAMPLES.items() for part in parts]


def part_of(kind: str, part: str) -> dict[str, Any]:
    """The schema of one part, in which the others can still be referred to."""
    whole = SCHEMAS[kind]
    return {**whole["$defs"][part], "$defs": whole["$defs"]} if part else whole


def value_of(kind: str, part: str) -> Any:  # noqa: ANN401 - what YAML holds
    """The example as it is read from a file."""
    document, problems = parse("example.yaml", EXAMPLES[kind][part])
    assert problems == []
    return as_json(document.data)


def tables_within(node: dict[str, Any], path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The places of the mappings whose keys have a table within another."""
    for key, each in node.get("properties", {}).items():
        if "properties" in each:
            yield (*path, key)
            yield from tables_within(each, (*path, key))


@pytest.mark.parametrize("kind", SCHEMAS)
def test_every_part_has_an_example_and_no_other(kind: str) -> None:
    """What is added to the files is shown, and what is taken away goes."""
    assert set(EXAMPLES[kind]) == {"", *SCHEMAS[kind]["$defs"]}


@pytest.mark.parametrize(("kind", "part"), CASES)
def test_an_example_is_right(kind: str, part: str) -> None:
    """As an editor would say."""
    validator = Draft202012Validator(part_of(kind, part))
    assert [error.message for error in validator.iter_errors(value_of(kind, part))] == []


@pytest.mark.parametrize(("kind", "part"), CASES)
def test_an_example_shows_the_tables_within(kind: str, part: str) -> None:
    """Or nobody would see how they are written."""
    for path in tables_within(part_of(kind, part)):
        value = value_of(kind, part)
        for step in path:
            value = value[step]
        assert value


#: Where the file of each kind would stand in the site that the five are.
FILES = {
    "site": "site.yaml",
    "rules": "rules.yaml",
    "legend": "legend.yaml",
    "reader": "readers/pieces.yaml",
    "dialect": "dialects/bars.yaml",
}


def test_the_files_together_are_a_site(tmp_path: Path) -> None:
    """Whoever copies them has one that can be run, with nothing to mend."""
    for kind, name in FILES.items():
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(EXAMPLES[kind][""], "utf-8")
    site = load_site(tmp_path)
    assert set(site.segments) == {"door-frame", "door-sill"}
    assert [each for each in findings(site) if each.severity != "note"] == []
