"""``lampwright run``: what goes to the service, and how it ends."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from bridge.service.journal_file import read_journal
from tests.cli.commands import CONFIG, hold_to_shape

ROOT = Path(__file__).parents[2]


def _start(*words: str | Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "bridge", "run", *map(str, words)],
        cwd=ROOT,
        env={**os.environ, "NO_COLOR": "1", "STATE_DIRECTORY": str(Path(words[0]).parent)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


@pytest.fixture
def nowhere(tmp_path: Path) -> Path:
    """The example site, whose addresses lead to closed ports of this machine."""
    club = shutil.copytree(CONFIG, tmp_path / "club")
    path = club / "site.yaml"
    text = path.read_text("utf-8")
    for number, name in enumerate(("broker", "plover", "door", "rack", "bench"), 1):
        text = text.replace(f"{name}.club.example", f"127.0.0.1:{number}")
    path.write_text(text, "utf-8")
    return club


JOURNALS = [
    ((), "lampwright.db"),
    (("--journal", "mine.db"), "mine.db"),
    (("--no-journal",), None),
]


@pytest.mark.parametrize(("options", "journal"), JOURNALS)
def test_it_runs_until_it_is_told_to_stop(
    nowhere: Path, tmp_path: Path, options: tuple[str, ...], journal: str | None
) -> None:
    """With nobody there it goes on, and ends with 0, its summary, and a history of its own."""
    options = tuple(str(tmp_path / each) if each == journal else each for each in options)
    summary = tmp_path / "summary.json"
    process = _start(nowhere, "--summary", summary, *options)
    assert process.stderr is not None
    for line in process.stderr:
        if "broker not reached" in line:
            break
    process.send_signal(signal.SIGTERM)
    said, complaint = process.communicate(timeout=30)
    assert (process.returncode, said) == (0, "")
    assert "Traceback" not in complaint
    value = hold_to_shape(summary.read_text("utf-8"), "summary")
    assert isinstance(value, dict)
    assert value["segments"]["shelf"]["scene"] == "not-known"
    assert {path.name for path in tmp_path.glob("*.db")} == ({journal} if journal else set())
    if journal:
        happened = [(each.subject, each.what) for each in read_journal(tmp_path / journal)[1]]
        assert (happened[0], happened[-1]) == (("start", "started"), ("start", "stopped"))
        assert ("segment", "not-known") in happened


def test_a_dry_run_keeps_no_journal(nowhere: Path, tmp_path: Path) -> None:
    """And says so to whoever names one."""
    process = _start(nowhere, "--dry-run", "--journal", tmp_path / "mine.db")
    said, complaint = process.communicate(timeout=30)
    assert (process.returncode, said) == (2, "")
    assert complaint == "--journal goes with a run, a dry run keeps nothing\n"


def test_a_dry_run_tells_programs_each_change(nowhere: Path) -> None:
    """One JSON object a line; interrupted, it ends with 0."""
    process = _start(nowhere, "--dry-run", "--json")
    assert process.stdout is not None
    lines = [process.stdout.readline() for _ in range(6)]
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=30)
    assert process.returncode == 0
    values = [hold_to_shape(line, "dry-run") for line in lines]
    named = [value.get("segment") for value in values if isinstance(value, dict)]
    assert "door-frame" in named


def test_a_site_that_cannot_be_used_is_not_run(nowhere: Path) -> None:
    """Its problems are said as by check."""
    (nowhere / "legend.yaml").write_text("", "utf-8")
    process = _start(nowhere)
    said, complaint = process.communicate(timeout=30)
    assert (process.returncode, said) == (2, "")
    assert complaint.startswith("legend.yaml:1:1: is empty")


UNWRITABLE = [
    ("nowhere/summary.json", "there is no directory {}/nowhere"),
    ("club", "it is a directory"),
]


@pytest.mark.parametrize(("name", "why"), UNWRITABLE)
def test_a_summary_that_cannot_be_written_is_said_before_it_runs(
    nowhere: Path, tmp_path: Path, name: str, why: str
) -> None:
    """Not when the evening is over."""
    process = _start(nowhere, "--summary", tmp_path / name)
    said, complaint = process.communicate(timeout=30)
    assert (process.returncode, said) == (2, "")
    assert complaint == (
        f"--summary {tmp_path / name}: cannot be written: {why.format(tmp_path)}\n"
    )


def test_a_site_that_cannot_be_run_leaves_the_last_summary(nowhere: Path, tmp_path: Path) -> None:
    """What an earlier run wrote is replaced by what this one has to say, and by nothing less."""
    summary = tmp_path / "summary.json"
    summary.write_text("of yesterday", "utf-8")
    (nowhere / "legend.yaml").write_text("", "utf-8")
    process = _start(nowhere, "--summary", summary)
    process.communicate(timeout=30)
    assert process.returncode == 2
    assert summary.read_text("utf-8") == "of yesterday"


def test_a_disk_that_filled_meanwhile_is_one_line(nowhere: Path) -> None:
    """/dev/full takes no byte."""
    process = _start(nowhere, "--summary", "/dev/full", "--log-level", "error")
    assert process.stderr is not None
    assert "broker not reached" in process.stderr.readline()
    process.send_signal(signal.SIGTERM)
    _, complaint = process.communicate(timeout=30)
    assert process.returncode == 2
    line = complaint.splitlines()[-1]
    assert line == "--summary /dev/full: cannot be written: no space left on device"


def test_a_summary_can_go_to_standard_output(nowhere: Path) -> None:
    """As the custom is, by the name of -."""
    process = _start(nowhere, "--summary", "-", "--log-level", "error")
    assert process.stderr is not None
    assert "broker not reached" in process.stderr.readline()
    process.send_signal(signal.SIGTERM)
    said, _ = process.communicate(timeout=30)
    assert process.returncode == 0
    hold_to_shape(said, "summary")


def test_a_look_beside_a_daemon_asks_leave_to_poll(nowhere: Path) -> None:
    """A printer is not asked twice as often because somebody looks; and the log can be quiet."""
    daemon = _start(nowhere, "--log-level", "error")
    assert daemon.stderr is not None
    assert "broker not reached" in daemon.stderr.readline()
    first = []
    for words in ((), ("--poll",)):
        look = _start(nowhere, "--dry-run", "--json", *words)
        assert look.stdout is not None
        first.append(look.stdout.readline())
        look.send_signal(signal.SIGINT)
        look.communicate(timeout=30)
    daemon.send_signal(signal.SIGTERM)
    _, complaint = daemon.communicate(timeout=30)
    assert "--poll gives leave" in first[0]
    assert "--poll gives leave" not in first[1]
    assert "decided" not in complaint
