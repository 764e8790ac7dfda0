"""``lampwright words``: what no reader maps, when and beside what, and how to teach it."""

from __future__ import annotations

import asyncio
import json
import shlex
import shutil
from pathlib import Path

import pytest

from bridge.cli.words import teaching
from bridge.engine.core import Core
from bridge.engine.events import Event, Heard, Settings, SourceUp, Started
from bridge.facts.moment import Moment
from bridge.facts.words import WordRecord
from bridge.service.local_socket import LocalSocket
from bridge.service.pending_wishes import PendingWishes
from bridge.service.recording_file import LEAST_BYTES, Happened, RecordingFile
from bridge.service.socket_path import socket_path
from bridge.service.word_lines import MetWord, words_plain
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, hold_to_shape, lampwright

PAGE = {"duty": {"code": 30, "halted": False, "closed": "Q"}, "trips": 4, "work": {"share": 4200}}


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """What plover answers with an outcome, a code and a bit that its reader does not map."""
    path = tmp_path / "page.json"
    path.write_text(json.dumps(PAGE), "utf-8")
    return path


def test_words_of_a_message(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With everything that a person needs who is to say what they mean."""
    code, said, _ = lampwright(
        capsys, "words", CONFIG, "--printer", "plover", "--message", f"page={page}"
    )
    lines = said.splitlines()
    assert code == 0
    assert [line for line in lines if not line.startswith(" ")] == [
        "plover (reader ledger): job Q",
        "plover (reader ledger): reasons bit 2",
        "plover (reader ledger): state 30",
    ]
    assert "  met     once, first and last 20" in said
    assert lines.count("  in      page (http://plover.club.example/ledger)") == 3
    assert "  beside  link up, progress 0.42" in lines
    assert f"  teach   lampwright teach {CONFIG} plover state 30 MEANING --way 2" in lines


def test_its_json_has_the_documented_shape(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same, for programs."""
    _, said, _ = lampwright(
        capsys, "words", CONFIG, "--printer", "plover", "--message", f"page={page}", "--json"
    )
    value = hold_to_shape(said, "words")
    assert isinstance(value, dict)
    found = {(each["fact"], each["word"]): each for each in value["words"]}
    assert set(found) == {("job", "Q"), ("reasons", "bit 2"), ("state", "30")}
    assert (found["state", "30"]["way"], found["state", "30"]["count"]) == (2, 1)
    assert found["job", "Q"]["beside"]["progress"] == "0.42"


def test_what_is_said_to_teach_does_teach(
    page: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every line, as a shell would read it; then no word is left."""
    site = tmp_path / "site"
    shutil.copytree(CONFIG, site)
    asked = ("words", site, "--printer", "plover", "--message", f"page={page}")
    _, said, _ = lampwright(capsys, *asked)
    meanings = {"state": "stopped", "job": "aborted", "reasons": "door-open,cover-open-error"}
    for line in said.splitlines():
        label, _, command = line.strip().partition(" ")
        if label != "teach":
            continue
        _, *words = shlex.split(command)
        fact = words[3]
        code, _, _ = lampwright(
            capsys, *(meanings[fact] if word == "MEANING" else word for word in words)
        )
        assert code == 0
    assert lampwright(capsys, *asked) == (0, "every word is mapped\n", "")


@pytest.mark.parametrize(
    ("word", "line"),
    [
        ("adrift", "lampwright teach site heron state adrift MEANING"),
        ("at sea", "lampwright teach site heron state 'at sea' MEANING"),
        ('"20"', "lampwright teach site heron state '\"20\"' MEANING"),
        ("-1", "lampwright teach site heron state -1 MEANING"),
        ('"-x"', "lampwright teach site heron state '\"-x\"' MEANING"),
        ("it's", """lampwright teach site heron state 'it'"'"'s' MEANING"""),
        ("{…}", "cannot be: no reader maps an object or a list to a meaning"),
        ("[…]", "cannot be: no reader maps an object or a list to a meaning"),
        ("x" * 79 + "…", "by hand: it is too long to be shown whole"),
        ('"1 ' + "x" * 76 + '…"', "by hand: it is too long to be shown whole"),
    ],
)
def test_how_a_word_is_taught(word: str, line: str) -> None:
    """In words that a shell takes as one each."""
    record = WordRecord("state", word, "log", "alder/heron/log", 0, None, None, 1, {})
    assert teaching(MetWord("heron", record), load_site(CONFIG), Path("site")) == line


def test_a_message_without_its_printer(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It cannot be told whose it is."""
    code, said, complaint = lampwright(capsys, "words", CONFIG, "--message", f"page={page}")
    assert (code, said) == (2, "")
    assert complaint == "--message needs --printer, whose message it is\n"


def test_a_printer_that_is_none(capsys: pytest.CaptureFixture[str]) -> None:
    """The nearest name is said."""
    code, _, complaint = lampwright(capsys, "words", CONFIG, "--printer", "herron")
    assert code == 2
    assert "did you mean 'heron'" in complaint


#: Half past six in the evening of a winter's day in Dublin, in UTC.
EVENING = 1_768_588_200_000
LEDGER = "http://plover.club.example/ledger"


def _evening() -> list[tuple[Event, Moment]]:
    """Two printers say, at times, what their readers do not map."""
    now = Moment(0, EVENING)
    begun: list[Event] = [Started("seed"), Settings(load_site(CONFIG), ""), SourceUp("shed")]
    pages = [json.dumps({**PAGE, "turn": turn}).encode() for turn in range(2)]
    said: list[Event] = [
        Heard("shed", "alder/kestrel/aboard", b"aye", retained=True),
        Heard("shed", "alder/kestrel/doing", b"adrift"),
        Heard("http", LEDGER, pages[0]),
        Heard("http", LEDGER, pages[1]),
    ]
    return [(event, now) for event in begun] + [
        (event, now.at(1000 * number)) for number, event in enumerate(said, 1)
    ]


def test_words_of_a_recording(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """At the times that it has, in the zone of its site."""
    core = Core()
    recording = RecordingFile(tmp_path / "tonight", LEAST_BYTES, "a test")
    recording.write(
        Happened(event, now, tuple(core.handle(event, now))) for event, now in _evening()
    )
    recording.close()
    code, said, _ = lampwright(capsys, "words", "--recording", tmp_path / "tonight")
    assert code == 0
    assert said.splitlines()[:5] == [
        "kestrel (reader pieces): state adrift",
        "  met     once, first and last 2026-01-16 18:30:02+00:00",
        "  in      doing (alder/kestrel/doing)",
        "  beside  link up, reasons none",
        "  teach   lampwright teach kestrel state adrift MEANING",
    ]
    assert (
        "  met     2 times, first 2026-01-16 18:30:03+00:00, last 2026-01-16 18:30:04+00:00" in said
    )
    code, said, _ = lampwright(
        capsys, "words", "--recording", tmp_path / "tonight", "--printer", "kestrel", "--json"
    )
    value = hold_to_shape(said, "words")
    assert isinstance(value, dict)
    assert [each["word"] for each in value["words"]] == ["adrift"]


@pytest.mark.asyncio
async def test_words_of_a_running_bridge(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Asked at its socket; it also knows in which of several ways a word was met."""
    site = tmp_path / "site"
    shutil.copytree(CONFIG, site)
    monkeypatch.setenv("RUNTIME_DIRECTORY", str(tmp_path))
    core = Core()
    for event, now in _evening():
        core.handle(event, now)
    served = LocalSocket(
        socket_path(site, {"RUNTIME_DIRECTORY": str(tmp_path)}),
        PendingWishes(lambda _event: None).wish,
        core.view,
        {"words": lambda: words_plain(core.view())},
    )
    await served.start()
    try:
        code, said, _ = await asyncio.to_thread(lampwright, capsys, "words", site)
        assert code == 0
        assert [line for line in said.splitlines() if not line.startswith(" ")] == [
            "kestrel (reader pieces): state adrift",
            "plover (reader ledger): job Q",
            "plover (reader ledger): reasons bit 2",
            "plover (reader ledger): state 30",
        ]
        told = await asyncio.to_thread(
            lampwright, capsys, "teach", site, "plover", "job", "Q", "aborted"
        )
        assert told[0] == 0
        assert "job knows now Q: aborted" in told[1]
        line = int(told[1].split(":")[1])
        taught = (site / "readers/ledger.yaml").read_text("utf-8").splitlines()[line - 1]
        assert "at: /duty/closed" in taught
        told = await asyncio.to_thread(
            lampwright, capsys, "teach", site, "plover", "reasons", "2", "door-open"
        )
        assert (told[0], "reasons knows now 2: door-open" in told[1]) == (0, True)
    finally:
        await served.close()


def test_nobody_to_ask(capsys: pytest.CaptureFixture[str]) -> None:
    """That nothing is listed must not look as if every word were mapped."""
    code, said, complaint = lampwright(capsys, "words", CONFIG)
    assert (code, said) == (2, "")
    assert "no daemon runs this site" in complaint
