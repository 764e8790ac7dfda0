"""``lampwright check``: 0 fine, 1 findings, 2 unusable."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.cli.commands import CONFIG, hold_to_shape, lampwright


@pytest.fixture
def club(tmp_path: Path) -> Path:
    """A copy of the example site."""
    return shutil.copytree(CONFIG, tmp_path / "club")


def _edit(path: Path, before: str, after: str) -> None:
    text = path.read_text("utf-8")
    assert before in text
    path.write_text(text.replace(before, after, 1), "utf-8")


def test_a_sound_site_is_fine(capsys: pytest.CaptureFixture[str]) -> None:
    """And is counted, so that one sees it was the one meant."""
    code, said, complaint = lampwright(capsys, "check", CONFIG)
    assert (code, complaint) == (0, "")
    assert "fine (3 printers, 3 controllers, 6 segments" in said


def test_an_expect_case_that_fails_is_a_finding(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """At its line, with what shows instead."""
    _edit(club / "rules.yaml", "shows: look-in}", "shows: ready}")
    code, said, _ = lampwright(capsys, "check", club)
    assert code == 1
    assert "rules.yaml:" in said
    assert "table wall shows look-in by rule 'stopped'" in said
    code, said, _ = lampwright(capsys, "check", club, "--json")
    value = hold_to_shape(said, "check")
    assert code == 1
    assert isinstance(value, dict)
    assert value["ok"] is False
    assert "expect" in {each["kind"] for each in value["findings"]}


def test_files_that_cannot_be_used_end_with_2(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every problem of every file, on standard error; as JSON, on standard output."""
    _edit(club / "site.yaml", "length: 120", "length: 160")
    _edit(club / "legend.yaml", "brightness: 30 %", "brightness: 30")
    code, said, complaint = lampwright(capsys, "check", club)
    assert (code, said) == (2, "")
    files = [line.partition(":")[0] for line in complaint.splitlines()]
    assert set(files) == {"legend.yaml", "site.yaml"}
    code, said, complaint = lampwright(capsys, "check", club, "--json")
    value = hold_to_shape(said, "check")
    assert (code, complaint) == (2, "")
    assert isinstance(value, dict)
    assert {(each["kind"], each["severity"]) for each in value["findings"]} == {
        ("settings", "error")
    }


def test_a_fine_site_has_the_documented_shape(capsys: pytest.CaptureFixture[str]) -> None:
    """Notes are listed and do not spoil it; without an example there is none, not an empty one."""
    code, said, _ = lampwright(capsys, "check", CONFIG, "--json")
    value = hold_to_shape(said, "check")
    assert code == 0
    assert isinstance(value, dict)
    assert value["ok"] is True
    assert {each["severity"] for each in value["findings"]} == {"note"}
    assert None in {each["example"] for each in value["findings"]}
    assert "" not in {each["example"] for each in value["findings"]}


def test_a_warning_is_a_finding_and_a_note_is_none(
    club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The code is 1 from a warning on."""
    _edit(
        club / "legend.yaml",
        "  # Something is broken.\n",
        "  spare: {says: notice, colour: teal}\n",
    )
    code, said, _ = lampwright(capsys, "check", club)
    assert code == 0
    assert "note: scene spare is shown by no table" in said
    _edit(
        club / "rules.yaml",
        '      - {given: {state: idle, local_time: "23:10", lasting: [night]}',
        "      #",
    )
    code, said, _ = lampwright(capsys, "check", club)
    assert code == 1
    assert "warning: " in said
    assert "error: " not in said
    assert said.splitlines()[-1].startswith(f"{club}: ")
    assert " to mend (" in said.splitlines()[-1]
