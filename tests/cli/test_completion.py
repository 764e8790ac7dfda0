"""Completion scripts, made from the commands as they are."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from bridge.cli.completion import script
from tests.cli.commands import lampwright

ROOT = Path(__file__).parents[2]
BASH = """
eval "$1"
COMP_WORDS=({words}) COMP_CWORD={at}
_lampwright
printf '%s\\n' "${{COMPREPLY[@]}}"
"""


@pytest.mark.parametrize(
    ("words", "at", "expected"),
    [
        ("lampwright ch", 1, {"check"}),
        ("lampwright s", 1, {"simulate", "schema", "shelve"}),
        ("lampwright check --js", 2, {"--json"}),
        ("lampwright run --dry", 2, {"--dry-run"}),
        ("lampwright out", 1, {"out-of-service"}),
        ("lampwright hold all dark --f", 4, {"--for"}),
        ("lampwright check che", 2, {"checklist"}),
    ],
)
def test_bash_completes(words: str, at: int, expected: set[str], tmp_path: Path) -> None:
    """In a real bash: files only where one may stand, whatever they are called."""
    for name in ("checklist", "schedule", "--jsonish", "--dry-dock"):
        (tmp_path / name).touch()
    program = BASH.format(words=words, at=at)
    done = subprocess.run(
        ["/bin/bash", "-c", program, "bash", script("bash")],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=30,
        check=True,
    )
    assert set(done.stdout.split()) == expected


def test_bash_takes_the_script_as_it_is_told_to(tmp_path: Path) -> None:
    """Sourced from the command itself, with files where a file may stand, blanks and all."""
    (tmp_path / "alder lane").touch()
    program = """
set -eu
source <("$1" -m bridge completion bash)
complete -p lampwright
cd "$2"
COMP_WORDS=(lampwright check ald) COMP_CWORD=2
_lampwright
printf '%s\\n' "${COMPREPLY[@]}"
"""
    done = subprocess.run(
        ["/bin/bash", "-c", program, "bash", sys.executable, str(tmp_path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout.splitlines() == [
        "complete -o filenames -F _lampwright lampwright",
        "alder lane",
    ]
    assert done.stderr == ""


@pytest.mark.parametrize(
    ("shell", "words"),
    [
        ("zsh", "bashcompinit"),
        ("fish", "__fish_use_subcommand -a check -d"),
        ("fish", "-l dry-run"),
    ],
)
def test_other_shells_get_what_they_read(shell: str, words: str) -> None:
    """Every command and every long option."""
    assert words in script(shell)


def test_the_command_prints_the_script(capsys: pytest.CaptureFixture[str]) -> None:
    """To be evaluated."""
    code, said, _ = lampwright(capsys, "completion", "bash")
    assert (code, said) == (0, script("bash"))


def run_in(shell: str, *words: str) -> list[str]:
    """The lines that a shell prints, if it is here."""
    program = shutil.which(shell) or pytest.skip(f"{shell} is not installed")
    command = [program, *words]
    done = subprocess.run(command, capture_output=True, text=True, timeout=30, check=True)
    assert done.stderr == ""
    return done.stdout.splitlines()


def test_zsh_takes_the_script_and_completes() -> None:
    """It has no ``mapfile``, and counts from 1 unless it is told otherwise."""
    program = (
        'eval "$1"; print -r -- "$_comps[lampwright]";'
        "emulate ksh -c 'COMP_WORDS=(lampwright run --dr) COMP_CWORD=2; _lampwright;"
        'print -r -- "${COMPREPLY[@]}"\''
    )
    registered, found = run_in("zsh", "-f", "-c", program, "zsh", script("zsh"))
    assert registered == "_bash_complete -o filenames -F _lampwright"
    # Its own matching comes after that: the function gives all that may stand there.
    assert {"--dry-run", "--poll", "--summary"} <= set(found.split())


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("lampwright compl", "completion\tprint a shell's completion script"),
        ("lampwright run --dr", "--dry-run"),
    ],
)
def test_fish_takes_the_script_and_completes(typed: str, expected: str) -> None:
    """Descriptions with an apostrophe included."""
    assert run_in("fish", "--no-config", "-c", f"{script('fish')}\ncomplete -C '{typed}'") == [
        expected
    ]
