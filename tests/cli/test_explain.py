"""``lampwright explain``: facts, the rule, why not the others, the requests."""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path

import pytest

from bridge.engine.core import Core
from bridge.engine.events import Heard, Settings, SourceUp, Started
from bridge.facts.moment import Moment
from bridge.service.recording_file import RecordingFile
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.recording.evening import an_evening

PAGE = {
    "duty": {"code": 12, "halted": False, "closed": None},
    "work": {"name": "hull", "share": 4200, "left": "1:02:03"},
    "heat": [2100, 600],
    "trips": 0,
}


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """What plover answers at work."""
    path = tmp_path / "page.json"
    path.write_text(json.dumps(PAGE), "utf-8")
    return path


def test_it_says_facts_rule_and_requests(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In words."""
    code, said, _ = lampwright(
        capsys, "explain", CONFIG, "--printer", "plover", "--message", f"page={page}"
    )
    assert code == 0
    assert "progress              0.42" in said
    assert "  rule  working: state is processing (processing)" in said
    assert "  shows filling" in said
    assert "  sends POST http://rack.club.example/strokes?on=shelf-1\n        [{" in said


PAGES = {
    "at work": PAGE,
    "stopped": {**PAGE, "duty": {"code": 12, "halted": True, "closed": None}},
    "out of material": {**PAGE, "trips": 8},
    "in trouble": {**PAGE, "trips": 32},
    "finished": {**PAGE, "duty": {"code": 7, "halted": False, "closed": "F"}},
    "a code nobody knows": {**PAGE, "duty": {"code": 99, "halted": False, "closed": None}},
    "no page of its kind": {},
}


@pytest.mark.parametrize("told", PAGES.values(), ids=PAGES.keys())
def test_its_json_has_the_documented_shape(
    told: dict[str, object], page: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And decides what the daemon's core decides."""
    page.write_text(json.dumps(told), "utf-8")
    _, said, _ = lampwright(
        capsys, "explain", CONFIG, "--printer", "plover", "--message", f"page={page}", "--json"
    )
    value = hold_to_shape(said, "explain")
    assert isinstance(value, dict)
    core, now = Core(), Moment(0)
    site = load_site(CONFIG)
    core.handle(Started("a daemon"), now)
    core.handle(Settings(site, ""), now)
    core.handle(SourceUp("shed"), now)
    core.handle(Heard("http", "http://plover.club.example/ledger", page.read_bytes()), now)
    shelf = core.view().segments["shelf"]
    explained = next(each for each in value["segments"] if each["segment"] == "shelf")
    assert (explained["rule"], explained["scene"]) == (shelf.rule, shelf.scene)
    assert explained["because"] == shelf.because
    passed = [(each["rule"], each["because"]) for each in explained["passed_over"]]
    # This core has no wall clock, so it cannot say what time it is.
    assert [each for each in passed if each[0] != "night"] == [
        each for each in shelf.passed_over if each[0] != "night"
    ]


def test_nothing_heard_is_explained_too(capsys: pytest.CaptureFixture[str]) -> None:
    """It is the question of whoever sees the light that says it does not know."""
    code, said, _ = lampwright(capsys, "explain", CONFIG, "--printer", "kestrel")
    assert code == 0
    assert "rule  silent: stale is true" in said


def test_words_without_a_mapping_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They are what a reader is taught by, and no mistake of whoever asks."""
    (tmp_path / "doing").write_text("whistling", "utf-8")
    code, said, complaint = lampwright(
        capsys,
        "explain",
        CONFIG,
        *("--printer", "kestrel"),
        *("--message", f"doing={tmp_path / 'doing'}"),
    )
    assert (code, complaint) == (0, "")
    assert "word without a mapping: 'whistling' for state" in said


NOT_TAKEN = {
    "not UTF-8": (b"\xff", "not UTF-8: byte 0xff at 0"),
    "empty": (b"", "empty: what was held is gone"),
    "too large": (b"x" * (10 << 20), "larger than 1048576 bytes: 10485760 bytes"),
}


@pytest.mark.parametrize(("body", "why"), NOT_TAKEN.values(), ids=NOT_TAKEN)
def test_a_message_that_cannot_be_taken_is_unusable_input(
    body: bytes, why: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line each, however often; what the others say is explained all the same."""
    (tmp_path / "doing").write_text("laying", "utf-8")
    (tmp_path / "laid").write_bytes(body)
    words = (
        *("explain", CONFIG, "--printer", "kestrel"),
        *("--message", f"laid={tmp_path / 'laid'}"),
        *("--message", f"doing={tmp_path / 'doing'}"),
        *("--message", f"laid={tmp_path / 'laid'}"),
    )
    code, said, complaint = lampwright(capsys, *words)
    assert code == 2
    assert "  rule  working: state is processing (processing)" in said
    assert complaint.splitlines() == [
        f"--message laid: not taken from alder/kestrel/laid: {why}",
        f"--message laid: not taken from alder/kestrel/laid: {why}",
    ]
    code, said, _ = lampwright(capsys, *words, "--json")
    value = hold_to_shape(said, "explain")
    assert isinstance(value, dict)
    not_taken = {"message": "laid", "address": "alder/kestrel/laid", "why": why}
    assert (code, value["not_taken"]) == (2, [not_taken, not_taken])


def test_texts_from_a_broker_are_heard(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In the order of their naming, on the topics that are meant: the last of each counts."""
    for name, text in {"first": "ashore", "last": "laying", "spool": "clear"}.items():
        (tmp_path / name).write_text(text, "utf-8")
    code, said, _ = lampwright(
        capsys,
        "explain",
        CONFIG,
        *("--printer", "kestrel"),
        *("--message", f"doing={tmp_path / 'first'}"),
        *("--message", f"doing={tmp_path / 'last'}"),
        *("--message", f"snag@alder/kestrel/snag/spool={tmp_path / 'spool'}"),
    )
    assert code == 0
    assert said.count("  rule  working: state is processing (processing)") == 2


def test_a_stroke_at_the_end_of_an_address_is_not_doubled(
    tmp_path: Path, page: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is sent to where the daemon would send it."""
    club = shutil.copytree(CONFIG, tmp_path / "club")
    site = (club / "site.yaml").read_text("utf-8")
    assert '//rack.club.example"' in site
    (club / "site.yaml").write_text(
        site.replace('//rack.club.example"', '//rack.club.example/"'), "utf-8"
    )
    words = ("explain", club, "--printer", "plover", "--message", f"page={page}")
    _, said, _ = lampwright(capsys, *words)
    assert "  sends POST http://rack.club.example/strokes?on=shelf-1" in said


def test_standard_input_is_a_file_too(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """For pipes."""
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(json.dumps(PAGE).encode())))
    code, said, _ = lampwright(
        capsys, "explain", CONFIG, "--printer", "plover", "--message", "page=-"
    )
    assert code == 0
    assert "state                 processing" in said


MISTAKES = {
    "no such printer": (["--printer", "plova"], "did you mean 'plover'"),
    "no such message": (
        ["--printer", "plover", "--message", "sheet=x"],
        "has no message 'sheet', it has page",
    ),
    "no file": (
        ["--printer", "plover", "--message", "page=/nowhere"],
        "/nowhere cannot be read: no such file",
    ),
    "no equals sign": (
        ["--printer", "plover", "--message", "page"],
        "is not NAME=FILE or NAME@ADDRESS=FILE",
    ),
    "a wildcard": (
        ["--printer", "kestrel", "--message", "snag=x"],
        "say which topic, as in --message snag@alder/kestrel/snag/LEVEL=x",
    ),
    "another URL": (
        ["--printer", "plover", "--message", "page@http://heron.club.example/ledger=x"],
        "comes from http://plover.club.example/ledger alone",
    ),
    "another topic": (
        ["--printer", "kestrel", "--message", "snag@alder/heron/snag/lid=x"],
        "does not match: nobody would hear it",
    ),
}


@pytest.mark.parametrize(("words", "complaint"), MISTAKES.values(), ids=MISTAKES.keys())
def test_a_mistake_is_one_line_that_helps(
    words: list[str], complaint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """And ends with 2."""
    code, said, error = lampwright(capsys, "explain", CONFIG, *words)
    assert (code, said) == (2, "")
    assert complaint in error
    assert error.count("\n") == 1


@pytest.fixture
def tonight(tmp_path: Path) -> Path:
    """A recorded evening."""
    file = RecordingFile(tmp_path / "tonight", 50_000_000, "0.1")
    file.write(an_evening())
    file.close()
    return tmp_path / "tonight"


def test_a_recording_is_explained_at_a_time(
    tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every printer, and every segment, those without a printer last."""
    code, said, _ = lampwright(
        capsys, "explain", "--recording", tonight, "--at", "2026-11-27T20:01:18"
    )
    lines = said.splitlines()
    assert code == 0
    assert lines[0] == "at 2026-11-27 20:01:18"
    printers = [line.split()[1] for line in lines if line.startswith("printer ")]
    segments = [line.split()[1] for line in lines if line.startswith("segment ")]
    assert printers == ["kestrel", "plover", "heron"]
    # The bench tells of two printers.
    assert segments == ["door-frame", "bench-left", "shelf", "bench-left", "door-sill"]
    assert "  reasons               material-empty-error" in lines


def test_one_segment_or_printer_of_it(tonight: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With its printers."""
    asked = ("explain", "--recording", tonight, "--at", "+0:01:18")
    _, said, _ = lampwright(capsys, *asked, "--segment", "shelf")
    assert "printer plover" in said
    assert "printer kestrel" not in said
    assert "segment shelf" in said
    _, said, _ = lampwright(capsys, *asked, "--printer", "heron")
    assert "printer heron" in said
    assert "segment shelf" not in said


def test_its_json_is_that_of_each_printer(
    tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """At its end where no time is given."""
    code, said, _ = lampwright(capsys, "explain", "--recording", tonight, "--json")
    value = hold_to_shape(said, "explain-recording")
    assert isinstance(value, dict)
    assert (code, value["at"]) == (0, "2026-11-27T20:05:00.000+00:00")
    assert [each["printer"] for each in value["explained"]] == ["kestrel", "plover", "heron", ""]
    for each in value["explained"]:
        del each["printer"]
        # Nobody gave its messages on the command line.
        hold_to_shape(json.dumps({**each, "not_taken": []}), "explain")


def test_a_later_part_is_said_to_begin_in_the_middle(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With what was said last before it."""
    file = RecordingFile(tmp_path / "tonight", 800_000, "0.1")
    file.write(an_evening())
    file.close()
    _, said, _ = lampwright(capsys, "explain", "--recording", tmp_path / "tonight")
    first, *lines = said.splitlines()
    assert first.endswith("; it begins in the middle, with the last messages before it")
    assert "  rule  working: state is processing (processing)" in lines


NOT_EXPLAINED = {
    "neither message nor recording": ((), "name --printer P and its messages, or a --recording"),
    "a time of nothing": (("--printer", "heron", "--at", "+0:00:01"), "or a --recording"),
    "a site beside the recording's own": (("SITE", "--recording", "FILE"), "has its own site"),
    "messages beside its own": (("--recording", "FILE", "--message", "a=b"), "its own site and"),
    "no such segment": (("--recording", "FILE", "--segment", "roof"), "no segment 'roof'"),
    "no such printer": (("--recording", "FILE", "--printer", "hero"), "did you mean 'heron'"),
    "a time that is not in it": (("--recording", "FILE", "--at", "+9:00:00"), "is not in the"),
    "no such recording": (("--recording", "/nowhere"), "/nowhere: cannot be read"),
}


@pytest.mark.parametrize(("words", "why"), NOT_EXPLAINED.values(), ids=NOT_EXPLAINED.keys())
def test_what_cannot_be_explained_is_one_line(
    words: tuple[str, ...], why: str, tonight: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And code 2."""
    given = [{"SITE": str(CONFIG), "FILE": str(tonight)}.get(word, word) for word in words]
    code, said, wrong = lampwright(capsys, "explain", *given)
    assert (code, said) == (2, "")
    assert why in wrong
    assert wrong.count("\n") == 1


def test_a_time_that_is_none_is_refused(tonight: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By the command line."""
    with pytest.raises(SystemExit):
        lampwright(capsys, "explain", "--recording", tonight, "--at", "eight")
    assert "'eight' is neither a time like" in capsys.readouterr().err


def test_it_tells_what_shows_if_the_printer_goes_on_so(
    page: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Delays of alarms are over by then, and nothing has become old meanwhile."""
    page.write_text(json.dumps(PAGES["stopped"]), "utf-8")
    asked = ("explain", CONFIG, "--printer", "plover", "--message", f"page={page}")
    _, at_once, _ = lampwright(capsys, *asked)
    _, later, _ = lampwright(capsys, *asked, "--after", "11m")
    assert "  rule  stopped: state is stopped (stopped)" in at_once
    assert "  rule  left waiting: alarm left-waiting, not acknowledged (unacknowledged)" in later
    assert "time-in-state         11m" in later
    with pytest.raises(SystemExit, match="2"):
        lampwright(capsys, *asked, "--after", "long")
    assert "'long' is no duration" in capsys.readouterr().err
