"""Completion scripts, made from the commands as they are."""

from __future__ import annotations

import subprocess

import pytest

from bridge.cli.completion import script
from tests.cli.commands import lampwright

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
        ("lampwright s", 1, {"simulate", "schema"}),
        ("lampwright check --js", 2, {"--json"}),
        ("lampwright run --dry", 2, {"--dry-run"}),
    ],
)
def test_bash_completes(words: str, at: int, expected: set[str]) -> None:
    """In a real bash."""
    program = BASH.format(words=words, at=at)
    done = subprocess.run(
        ["/bin/bash", "-c", program, "bash", script("bash")],
        capture_output=True,
        text=True,
        timeout=30,
        check=True,
    )
    assert set(done.stdout.split()) == expected


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
