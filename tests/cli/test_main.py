"""Which command, and how its end is told."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from bridge import __version__
from bridge.cli.main import main
from tests.cli.commands import CONFIG, lampwright

COMMANDS = (
    "run",
    "check",
    "preview",
    "explain",
    "words",
    "teach",
    "alarms",
    "acknowledge",
    "collected",
    "reset",
    "shelve",
    "unshelve",
    "out-of-service",
    "return-to-service",
    "hold",
    "release",
    "demo",
    "simulate",
    "schema",
    "completion",
)
ROOT = Path(__file__).parents[2]
NOWHERE = Path("/nowhere")


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    """And says that the lights are no safety device."""
    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    said = capsys.readouterr().out
    assert ended.value.code == 0
    assert all(f"\n    {command}" in said for command in COMMANDS)
    assert "no safety device" in " ".join(said.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_has_a_help_with_an_example(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """So that nobody has to guess the order of words."""
    with pytest.raises(SystemExit) as ended:
        main([command, "--help"])
    assert ended.value.code == 0
    assert "example: " in capsys.readouterr().out


def test_the_version_is_the_package_s(capsys: pytest.CaptureFixture[str]) -> None:
    """For reports of bugs."""
    with pytest.raises(SystemExit):
        main(["--version"])
    assert capsys.readouterr().out == f"lampwright {__version__}\n"


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["whistle"],
        ["check", "--loud"],
        ["replay"],
        ["completion", "smoke"],
        ["simulate"],
        ["demo", "--seconds", "1"],
    ],
)
def test_words_that_mean_nothing_end_with_2(words: list[str]) -> None:
    """Unusable input."""
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2


#: What is to be read or done, and the code; with 2, nothing is said on standard output.
CODES = {
    "check, fine": (["check", CONFIG], 0),
    "check, no site": (["check", NOWHERE], 2),
    "explain, of nothing": (["explain", CONFIG], 2),
    "replay, no such file": (["replay", NOWHERE], 2),
    "preview, fine": (["preview", CONFIG, "--still"], 0),
    "preview, no such scene": (["preview", CONFIG, "glow", "--still"], 2),
    "preview, no site": (["preview", NOWHERE], 2),
    "explain, fine": (["explain", CONFIG, "--printer", "heron"], 0),
    "explain, no such printer": (["explain", CONFIG, "--printer", "wren"], 2),
    "explain, no site": (["explain", NOWHERE, "--printer", "heron"], 2),
    "run, no site": (["run", NOWHERE], 2),
    "dry run, no site": (["run", NOWHERE, "--dry-run"], 2),
    "schema, on paper": (["schema", "--reference"], 0),
    "schema, no place": (["schema", "/dev/null/schema"], 2),
    "completion, fine": (["completion", "fish"], 0),
}


@pytest.mark.parametrize(("words", "expected"), CODES.values(), ids=CODES.keys())
def test_the_exit_code_says_how_it_ended(
    words: list[str | Path], expected: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """0 fine, 2 unusable input, and then one line says what was wrong with it."""
    code, said, complaint = lampwright(capsys, *words)
    assert code == expected
    assert (said != "", complaint.count("\n")) == ((True, 0) if code == 0 else (False, 1))


def test_an_error_is_its_lines_and_its_code(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Never a trace."""
    code, said, complaint = lampwright(capsys, "check", tmp_path)
    assert (code, said) == (2, "")
    assert complaint.startswith("no site: ")
    assert complaint.count("\n") == 1


def test_a_reader_that_has_seen_enough_ends_it_quietly() -> None:
    """As in ``lampwright preview | head -1``."""
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-m", "bridge", "preview", str(CONFIG), "--still"],
        cwd=ROOT,
        stdout=writing,
        stderr=subprocess.PIPE,
        timeout=60,
        check=False,
    )
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_terminal_without_the_characters_gets_others() -> None:
    """And no trace."""
    shown = subprocess.run(
        [sys.executable, "-m", "bridge", "schema", "--reference"],
        cwd=ROOT,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (shown.returncode, shown.stderr) == (0, "")
    assert "number with ?C" in shown.stdout


def test_the_module_is_the_command() -> None:
    """``python -m bridge`` is ``lampwright``."""
    done = subprocess.run(
        [sys.executable, "-m", "bridge", "--version"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout == f"lampwright {__version__}\n"
