"""JSON Schema of the five kinds of file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from bridge.settings.document import parse
from bridge.settings.schema import DRAFT, schemas
from tests.settings.copies import BAD, EXPECTED, GOOD

CONFIG = Path(__file__).parents[2] / "config"
SCHEMAS = schemas()
DEVICES = Path(__file__).parents[1] / "devices" / "readers"
FILES = sorted(path for folder in (GOOD, CONFIG, DEVICES) for path in folder.rglob("*.yaml"))


def kind_of(path: Path) -> str:
    """Which schema a file has."""
    return path.parent.name[:-1] if path.parent.name in {"readers", "dialects"} else path.stem


def as_json(data: Any) -> Any:  # noqa: ANN401 - what YAML holds
    """Editors see every key as a text."""
    if isinstance(data, dict):
        return {str(key): as_json(value) for key, value in data.items()}
    return [as_json(item) for item in data] if isinstance(data, list) else data


def errors_of(path: Path) -> list[str]:
    """What a schema has against a file."""
    document, problems = parse(path.name, path.read_text("utf-8"))
    assert problems == []
    validator = Draft202012Validator(SCHEMAS[kind_of(path)])
    return [error.message for error in validator.iter_errors(as_json(document.data))]


@pytest.mark.parametrize("kind", SCHEMAS)
def test_a_schema_is_one(kind: str) -> None:
    """Of the draft that it names."""
    Draft202012Validator.check_schema(SCHEMAS[kind])
    assert SCHEMAS[kind]["$schema"] == DRAFT


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_right_file_is_accepted(path: Path) -> None:
    """An editor underlines nothing in the example."""
    assert errors_of(path) == []


#: The bad sites whose mistake shows in one file alone, before names are looked up.
STRUCTURAL = [
    "alarm-on-an-alarm",
    "brightness-without-unit",
    "colour-that-is-a-comment",
    "duration-without-unit",
    "empty-value",
    "ends-that-contradict",
    "fraction-of-a-pixel",
    "key-for-later",
    "length-without-unit",
    "list-instead-of-mapping",
    "missing-key",
    "no-name",
    "no-pixels",
    "number-without-per-cent",
    "off-delay-without-an-alarm",
    "reasons-as-a-word",
    "rule-without-condition",
    "secret-for-a-credential",
    "set-of-nothing",
    "share-that-is-none",
    "symbol-that-is-no-state",
    "unknown-effect",
    "unknown-fact",
    "unknown-key",
    "unknown-section",
    "unknown-unit",
    "unquoted-placeholder",
    "wrong-type",
]


@pytest.mark.parametrize("name", STRUCTURAL)
def test_a_structural_mistake_is_refused(name: str) -> None:
    """The editor underlines it while it is being written."""
    assert any(errors_of(path) for path in (BAD / name).rglob("*.yaml"))


def _read_as_yaml() -> Iterator[Path]:
    for path in sorted(BAD.rglob("*.yaml")):
        try:
            text = path.read_text("utf-8")
        except UnicodeDecodeError:
            continue
        if not parse(path.name, text)[1]:
            yield path


@pytest.mark.parametrize("path", list(_read_as_yaml()), ids=lambda path: str(path.relative_to(BAD)))
def test_what_a_schema_refuses_is_refused(path: Path) -> None:
    """A schema is never stricter than the loader: its file has a problem there too."""
    folder = BAD / path.relative_to(BAD).parts[0]
    lines = (folder / EXPECTED).read_text("utf-8").splitlines()
    file = path.relative_to(folder).as_posix()
    if errors_of(path):
        assert any(line.startswith(f"{file}:") for line in lines)


def described(schema: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Every key of a schema with its description, its type's where both would be the same."""
    types = schema.get("$defs", {})
    for path, holder in [("", schema), *types.items()]:
        for name, entry in holder.get("properties", {}).items():
            own = types.get(entry.get("$ref", "").rpartition("/")[2], {}).get("description", "")
            yield f"{path}.{name}", entry.get("description", own)


@pytest.mark.parametrize("kind", SCHEMAS)
def test_every_key_is_described_in_a_sentence(kind: str) -> None:
    """Editors show it, and the manual is made of it."""
    keys = list(described(SCHEMAS[kind]))
    assert keys
    assert [name for name, said in keys if not said.endswith(".")] == []


def test_defaults_are_as_they_would_be_written() -> None:
    """With their unit, and none that is nothing."""
    broker = SCHEMAS["site"]["$defs"]["Broker"]["properties"]
    assert broker["keep_alive"]["default"] == "30s"
    assert "default" not in broker["credential"]
    assert broker["credential"]["type"] == "string"
