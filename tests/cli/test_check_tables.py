"""What check draws."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bridge.check.matrix import Matrix, matrix_of
from bridge.check.times import AlarmTime
from bridge.cli.check_tables import matrix_lines, times_lines
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, hold_to_shape, lampwright

CLUB = load_site(Path(CONFIG))


def test_times_stand_in_columns() -> None:
    """In seconds, to the right."""
    lines = list(times_lines([AlarmTime("jam", "kestrel", "frame", 25_000, 5000, 3500)]))
    assert lines == [
        "alarm  printer  segment   heard  raised   sent  together",
        "jam    kestrel  frame    25.0 s   5.0 s  3.5 s    33.5 s",
    ]


def test_no_times_are_said_to_be_none() -> None:
    """An empty table would look like a fault."""
    assert list(times_lines([])) == ["no alarm is shown for any printer"]


SMALL = Matrix("wall", ("nothing wrong", "stale"), (("idle", ("ready", "not-known")),))


def test_a_matrix_is_lettered_and_told_below() -> None:
    """Words alone where there are no colours."""
    assert list(matrix_lines(CLUB, SMALL, "none")) == [
        "table wall",
        "      a      b",
        "idle  ready  not-known",
        "a: nothing wrong",
        "b: stale",
    ]


def test_a_matrix_has_the_colours_of_its_scenes() -> None:
    """Before the words, so that nobody needs them."""
    lines = list(matrix_lines(CLUB, SMALL, "truecolour"))
    assert "\x1b[38;2;" in lines[2]
    assert lines[2].endswith("not-known")


def test_columns_beyond_z_go_on() -> None:
    """With two letters."""
    wide = Matrix("wall", tuple(map(str, range(28))), (("idle", ("ready",) * 28),))
    head = list(matrix_lines(CLUB, wide, "none"))[1].split()
    assert head[25:] == ["z", "aa", "ab"]


def test_the_command_draws_them(capsys: pytest.CaptureFixture[str]) -> None:
    """Before the findings; a pipe gets no colours."""
    code, said, _ = lampwright(capsys, "check", CONFIG, "--matrix", "--table", "wall", "--times")
    assert code == 0
    assert "\x1b" not in said
    drawn = "\n".join(matrix_lines(CLUB, matrix_of(CLUB, CLUB.tables["wall"]), "none"))
    assert drawn in said


def test_programs_read_them_too(capsys: pytest.CaptureFixture[str]) -> None:
    """Where they are asked for."""
    code, said, _ = lampwright(capsys, "check", CONFIG, "--json", "--matrix", "--times")
    hold_to_shape(said, "check")
    assert code == 0
    assert [each["table"] for each in json.loads(said)["matrix"]] == list(CLUB.tables)
    _, said, _ = lampwright(capsys, "check", CONFIG, "--json")
    assert set(json.loads(said)) == {"ok", "findings"}


def test_a_table_that_is_none_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """With the nearest one."""
    code, _, complaint = lampwright(capsys, "check", CONFIG, "--matrix", "--table", "wal")
    assert code == 2
    assert "'wal' is no table of rules.yaml; did you mean 'wall'?" in complaint
