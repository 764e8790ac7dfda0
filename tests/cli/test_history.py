"""``lampwright history``, as a person asks it, of a real journal."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path
from typing import Any, Final

import pytest

from bridge.engine.records import Happening
from bridge.service.journal_file import JournalFile
from bridge.service.journal_place import journal_path
from bridge.service.journal_store import Batch
from bridge.service.lock import site_lock
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, hold_to_shape, lampwright

MINUTE: Final = 60_000
#: 2026-11-25 17:00 in the example's zone.
FIVE: Final = 1_795_626_000_000


def at(minutes: int) -> int:
    """So long after five."""
    return FIVE + minutes * MINUTE


LINES: Final = (
    Happening("start", "started", at(0)),
    Happening("hearing", "fresh", at(6), "kestrel"),
    Happening("segment", "filling", at(6), "kestrel", "door-frame", "filling", "it is processing"),
    Happening("alarm", "raised", at(20), "kestrel", name="jam", occurrence="0-1"),
    Happening("segment", "see-me", at(20), "kestrel", "door-frame", "jam", "alarm jam is raised"),
    Happening("alarm", "acknowledged", at(22), "kestrel", "", "jam", "", "0-1", "Ada", 2 * MINUTE),
    Happening("job", "completed", at(60), "plover", name="tug"),
    Happening("start", "stopped", at(60)),
)


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """An hour of it, cleanly stopped."""
    path = tmp_path / "it.db"
    file = JournalFile(path, lambda: None)
    file.open()
    file.commit(Batch((), LINES, at(60)))
    file.close()
    return path


def test_history_says_what_happened_and_adds_it_up(
    capsys: pytest.CaptureFixture[str], journal: Path
) -> None:
    """Every change of a segment with its cause, in the site's zone; alarms and printers below."""
    code, out, err = lampwright(capsys, "history", CONFIG, "--journal", journal)
    lines = out.splitlines()
    assert (code, err) == (0, "")
    assert lines[4].startswith("2026-11-25 17:20:00 GMT  door-frame  shows see-me, rule 'jam'")
    assert lines[4].endswith(": alarm jam is raised")
    assert lines[len(LINES) : len(LINES) + 4] == [
        "",
        "alarms",
        "jam  kestrel  raised 1, acknowledged 1 (after 2m in the median, 2m at most)",
        "",
    ]
    assert "kestrel  no job ended; without fresh facts 10.0% of 1h" in lines
    assert "plover   completed 1; without fresh facts 100.0% of 1h" in lines


#: With the printers that are summed up, ``None`` for all of the site.
CHOICES: Final[list[tuple[list[str], list[int], list[str] | None]]] = [
    (["--printer", "plover"], [6], ["plover"]),
    (["--segment", "door-frame"], [2, 4], []),
    (["--alarm", "jam"], [3, 5], []),
    (["--alarm", "jam", "--since", "2026-11-25T17:21"], [5], []),
    (["--since", "2026-11-25T17:20", "--until", "2026-11-25T17:22"], [3, 4], None),
    (["--until", "2026-11-25 16:06:30+00:00"], [], None),
    (["--until", "2026-11-25 18:06:30+01:00"], [0, 1, 2], None),
    (["--since", "1ms"], [], None),
]


@pytest.mark.parametrize(("words", "lines", "printers"), CHOICES)
def test_history_is_told_by_printer_segment_alarm_and_time(
    capsys: pytest.CaptureFixture[str],
    journal: Path,
    words: list[str],
    lines: list[int],
    printers: list[str] | None,
) -> None:
    """For programs in the documented shape, and as a sheet; both have the same lines."""
    asked: tuple[str | Path, ...] = ("history", CONFIG, "--journal", journal, *words)
    _, out, _ = lampwright(capsys, *asked, "--json")
    value: Any = hold_to_shape(out, "history")
    expected = [(LINES[number].subject, LINES[number].what) for number in lines]
    assert [(each["subject"], each["what"]) for each in value["lines"]] == expected
    expected_printers = sorted(load_site(CONFIG).printers) if printers is None else printers
    assert [each["printer"] for each in value["printers"]] == expected_printers
    _, out, _ = lampwright(capsys, *asked, "--csv")
    rows = list(csv.DictReader(out.splitlines()))
    assert [(row["subject"], row["what"]) for row in rows] == expected


MISTAKES: Final = [
    (["--printer", "kestral"], "history knows no printer 'kestral'; did you mean 'kestrel'?"),
    (["--segment", "x"], "history knows no segment 'x'; known is door-frame"),
    (["--alarm", "tug"], "history knows no alarm or prompt 'tug'; known is jam"),
    (["--since", "yesterday"], "--since 'yesterday' is no time; write so long ago"),
    (["--until", "5"], "--until '5' is no time; write so long ago"),
    (["--since", "9999-12-31"], "--since '9999-12-31' is out of range, expected a year after 1970"),
    (["--since", "1h", "--until", "2h"], "--since 1h is not before --until 2h"),
    (["--since", "2998-01-01"], "--since 2998-01-01 is not before now"),
    (["--journal", "/nonexistent.db"], "/nonexistent.db: there is no journal"),
    (["--journal", str(CONFIG / "site.yaml")], "site.yaml: it is damaged (file is not a database)"),
]


@pytest.mark.parametrize(("words", "said"), MISTAKES)
def test_what_cannot_be_told_is_refused(
    capsys: pytest.CaptureFixture[str], journal: Path, words: list[str], said: str
) -> None:
    """One line that says what was expected, and code 2."""
    code, out, err = lampwright(capsys, "history", CONFIG, "--journal", journal, *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_a_journal_is_found_where_the_site_keeps_it(
    capsys: pytest.CaptureFixture[str],
    journal: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Without being named."""
    monkeypatch.delenv("STATE_DIRECTORY", raising=False)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    place = journal_path(CONFIG, {"XDG_STATE_HOME": str(tmp_path / "state")})
    place.parent.mkdir(parents=True)
    journal.rename(place)
    code, out, _ = lampwright(capsys, "history", CONFIG, "--csv")
    assert (code, len(out.splitlines())) == (0, len(LINES) + 1)


def test_nothing_is_said_to_be_nothing(capsys: pytest.CaptureFixture[str], journal: Path) -> None:
    """An answer, and no error."""
    asked = ("history", CONFIG, "--journal", journal, "--alarm", "jam", "--until", "2026-11-25")
    code, out, err = lampwright(capsys, *asked)
    assert (code, out, err) == (0, f"{journal}: nothing of what is asked for happened\n", "")


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A copy of the example that a test may change and lock."""
    shutil.copytree(CONFIG, tmp_path / "site")
    return tmp_path / "site"


def test_history_is_told_while_the_files_are_being_edited(
    capsys: pytest.CaptureFixture[str], journal: Path, site: Path
) -> None:
    """In UTC, which is said; printers are those that history names."""
    (site / "site.yaml").write_text("printers: [\n")
    code, out, err = lampwright(capsys, "history", site, "--journal", journal)
    assert code == 0
    assert out.startswith("2026-11-25 17:00:00 UTC")
    assert err.count("\n") == 1
    assert "times are in UTC" in err
    assert out.splitlines()[-2].startswith("kestrel  no job ended; without")


def test_time_goes_on_while_the_bridge_runs(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, site: Path
) -> None:
    """A bridge that ended without a word watched until its last line, one that runs watches now."""
    path = tmp_path / "it.db"
    file = JournalFile(path, lambda: None)
    file.open()
    file.commit(Batch((), LINES[:2], at(9)))
    file.close()
    asked = ("history", site, "--journal", path, "--printer", "kestrel", "--json")

    def watched_ms() -> int:
        value: Any = hold_to_shape(lampwright(capsys, *asked)[1], "history")
        watched: int = value["printers"][0]["watched_ms"]
        return watched

    assert watched_ms() == 9 * MINUTE
    lock = site_lock(site)
    lock.take()
    assert watched_ms() > 9 * MINUTE
    lock.release()
    assert watched_ms() == 9 * MINUTE
