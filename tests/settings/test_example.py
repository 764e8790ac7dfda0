"""The example site: complete, sound, and with the schemas that its comments point to."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from bridge.check.site import findings
from bridge.settings.load import load_site
from bridge.settings.schema import schemas

CONFIG = Path(__file__).parents[2] / "config"
FILES = sorted(path for path in CONFIG.rglob("*.yaml"))


def test_the_example_site_has_nothing_to_mend() -> None:
    """Whoever starts from it starts from something sound."""
    assert [str(each) for each in findings(load_site(CONFIG)) if each.severity != "note"] == []


@pytest.mark.parametrize("name", sorted(schemas()))
def test_the_schemas_beside_the_example_are_current(name: str) -> None:
    """``lampwright schema config/schema`` writes them anew."""
    written = json.loads((CONFIG / "schema" / f"{name}.schema.json").read_text("utf-8"))
    assert written == schemas()[name]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(CONFIG)))
def test_editors_find_the_schema_of_each_file(path: Path) -> None:
    """Its first line names a schema that is there."""
    first = path.read_text("utf-8").splitlines()[0]
    match = re.fullmatch(r"# yaml-language-server: \$schema=(\S+)", first)
    assert match is not None
    assert (path.parent / match[1]).is_file()
