"""Running commands as a person does, within this process."""

from __future__ import annotations

import io
import json
from pathlib import Path

import jsonschema
import pytest

from bridge.cli.main import main

CONFIG = Path(__file__).parents[2] / "config"
SHAPES = Path(__file__).with_name("shapes")


def lampwright(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    """Exit code, output and complaints."""
    code = main([str(word) for word in words])
    said = capsys.readouterr()
    return code, said.out, said.err


def hold_to_shape(text: str, shape: str) -> object:
    """The JSON, which has the documented shape."""
    value = json.loads(text)
    schema = json.loads((SHAPES / f"{shape}.schema.json").read_text("utf-8"))
    jsonschema.validate(value, schema)
    return value


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """It is one."""
        return True
