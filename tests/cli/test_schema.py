"""``lampwright schema``."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from bridge.cli import schema
from bridge.cli.to_file import CannotWriteError
from bridge.settings.reference import reference
from bridge.settings.schema import schemas


def run(*words: str) -> int:
    """Run the command as the command line does."""
    parser = argparse.ArgumentParser()
    schema.add(parser.add_subparsers())
    arguments = parser.parse_args(["schema", *words])
    code: int = arguments.run(arguments)
    return code


def test_the_files_are_written_and_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Into a folder that is made where it is missing."""
    folder = tmp_path / "deep" / "schema"
    assert run(str(folder)) == 0
    written = {path.name: json.loads(path.read_text("utf-8")) for path in folder.iterdir()}
    assert written == {f"{name}.schema.json": each for name, each in schemas().items()}
    assert capsys.readouterr().out.splitlines() == [
        str(folder / f"{name}.schema.json") for name in schemas()
    ]


def test_a_place_that_cannot_be_written_is_one_line(tmp_path: Path) -> None:
    """A file where the folder should be."""
    (tmp_path / "schema").write_text("")
    with pytest.raises(CannotWriteError) as caught:
        run(str(tmp_path / "schema"))
    assert caught.value.lines() == (f"{tmp_path / 'schema'}: cannot be written: file exists",)
    assert caught.value.exit_code == 2


def test_the_reference_is_printed_and_nothing_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it stands in the example site's own page."""
    monkeypatch.chdir(tmp_path)
    assert run("--reference") == 0
    assert capsys.readouterr().out == reference()
    assert list(tmp_path.iterdir()) == []
