"""``lampwright teach``: one entry more in the reader, and what is said of it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bridge.cli.main import main
from tests.cli.commands import CONFIG, lampwright

LOG_BOOK = "readers/log-book.yaml"
OLD = "values: {aside: idle, at it: processing, stuck: stopped}"
NEW = "values: {aside: idle, at it: processing, stuck: stopped, moored: idle}"


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """The example site, to write in."""
    copy = tmp_path / "site"
    shutil.copytree(CONFIG, copy)
    return copy


def test_the_reader_knows_the_word(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing else in any file is another; what was taught is what explain then says."""
    code, said, complaint = lampwright(capsys, "teach", site, "heron", "state", "moored", "idle")
    assert (code, complaint) == (0, "")
    line = (CONFIG / LOG_BOOK).read_text("utf-8").partition(OLD)[0].count("\n") + 1
    assert said.splitlines() == [
        f"{LOG_BOOK}:{line}: state knows now moored: idle",
        "a bridge that runs goes on as it was until it starts again",
    ]
    for path in CONFIG.rglob("*.yaml"):
        text = path.read_text("utf-8")
        wanted = text.replace(OLD, NEW) if path.name == "log-book.yaml" else text
        assert (site / path.relative_to(CONFIG)).read_text("utf-8") == wanted


def test_dry_run_shows_the_change(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """And writes nothing."""
    before = (site / LOG_BOOK).read_text("utf-8")
    code, said, _ = lampwright(
        capsys, "teach", site, "heron", "state", "moored", "idle", "--dry-run"
    )
    assert code == 0
    assert [line for line in said.splitlines() if line[0] in "+-"] == [
        f"--- {LOG_BOOK}",
        f"+++ {LOG_BOOK}",
        f"-  state: [{{in: log, at: /hand, {OLD}}}]",
        f"+  state: [{{in: log, at: /hand, {NEW}}}]",
    ]
    assert (site / LOG_BOOK).read_text("utf-8") == before


def test_who_else_has_the_reader(site: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """They are taught too, and it is said."""
    path = site / "site.yaml"
    text = path.read_text("utf-8")
    text = text.replace(
        "\ncontrollers:",
        "  egret:\n    reader: log-book\n    broker: shed\n    messages:\n"
        "      tether: alder/egret/tether\n      log: alder/egret/log\n"
        "    asks:\n      all: alder/egret/tell\n\ncontrollers:",
        1,
    )
    text = text.replace("printers: [plover]", "share: worst, printers: [plover, egret]", 1)
    path.write_text(text, "utf-8")
    code, said, _ = lampwright(capsys, "teach", site, "heron", "state", "moored", "idle")
    assert code == 0
    assert "reader log-book is also that of egret" in said.splitlines()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plover", "state", "x", "resting"], "meaning: 'resting' is no state"),
        (["plover", "job", "x", "completed"], "say which said it, with --way"),
        (["wren", "state", "x", "idle"], "'wren' is no printer of site.yaml"),
        (["plover", "reasons", "bit 2", "dor-open", "--way", "1"], "did you mean 'door-open'?"),
    ],
)
def test_what_cannot_be_taught(
    words: list[str], said: str, site: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line, exit code 2, and no file touched."""
    code, output, complaint = lampwright(capsys, "teach", site, *words)
    assert (code, output) == (2, "")
    assert said in complaint
    assert complaint.count("\n") == 1
    for path in CONFIG.rglob("*.yaml"):
        copied = site / path.relative_to(CONFIG)
        assert copied.read_bytes() == path.read_bytes()


@pytest.mark.parametrize("way", ["0", "-1", "two", "99999", "1.0"])
def test_a_way_is_a_number_from_1(way: str, capsys: pytest.CaptureFixture[str]) -> None:
    """As the listing of words has it."""
    with pytest.raises(SystemExit) as ended:
        main(["teach", str(CONFIG), "plover", "job", "x", "completed", f"--way={way}"])
    assert ended.value.code == 2
    assert f"'{way}' is no number from 1" in capsys.readouterr().err
