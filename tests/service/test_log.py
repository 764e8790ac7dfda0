"""The log: one event a line, in the form that fits whoever reads it."""

from __future__ import annotations

import io
import json
import os
from contextlib import suppress
from pathlib import Path
from typing import Literal

import pytest

from bridge.engine.actions import Note
from bridge.service.log import note_logger

Level = Literal["debug", "info", "warning", "error"]
NOTE = Note("warning", "message not taken", {"printer": "kestrel", "why": "not UTF-8"})


class Terminal(io.StringIO):
    """A screen."""

    def isatty(self) -> bool:
        """It is one."""
        return True


def written(
    *notes: Note,
    stream: io.StringIO | None = None,
    environment: dict[str, str] | None = None,
    least: Level = "info",
) -> list[str]:
    """The lines that come of these notes."""
    stream = stream or io.StringIO()
    write = note_logger(stream, environment or {}, least=least)
    for note in notes:
        write(note)
    return stream.getvalue().splitlines()


def test_a_line_has_time_level_event_and_fields() -> None:
    """In the order of the note, and without colours where nobody looks at them."""
    (line,) = written(NOTE)
    clock, _, rest = line.partition(" ")
    assert [len(part) for part in clock.split(":")] == [2, 2, 2]
    words = " ".join(rest.split())
    assert words == "[warning ] message not taken printer=kestrel why='not UTF-8'"


@pytest.mark.parametrize(
    ("stream", "environment", "coloured"),
    [
        (Terminal, {}, True),
        (Terminal, {"NO_COLOR": "1"}, False),
        (Terminal, {"TERM": "dumb"}, False),
        (io.StringIO, {}, False),
    ],
)
def test_only_a_terminal_that_wants_them_gets_colours(
    stream: type[io.StringIO], environment: dict[str, str], coloured: bool
) -> None:
    """https://no-color.org: set and not empty means none."""
    (line,) = written(NOTE, stream=stream(), environment=environment)
    assert ("\x1b[" in line) is coloured


@pytest.mark.parametrize(
    ("least", "shown"),
    [
        ("debug", ["debug", "info", "warning", "error"]),
        ("info", ["info", "warning", "error"]),
        ("warning", ["warning", "error"]),
        ("error", ["error"]),
    ],
)
def test_what_is_less_than_asked_for_is_left_out(least: Level, shown: list[str]) -> None:
    """Each level at each setting."""
    levels: tuple[Level, ...] = ("debug", "info", "warning", "error")
    lines = written(*(Note(level, f"a matter of {level}") for level in levels), least=least)
    assert [line.rpartition(" ")[2] for line in lines] == shown


@pytest.mark.parametrize("stream", [io.StringIO, Terminal])
@pytest.mark.parametrize(
    ("word", "shown"),
    [
        ("ly\x1b[2Jing", r"ly\x1b[2Jing"),
        ("ly\x1b[2Jing\r\n12:00:00 all is well", r"ly\x1b[2Jing\r\n12:00:00 all is well"),
        ("ly\x9b2Jing", r"ly\x9b2Jing"),
        ("gni\u202eyl", r"gni\u202eyl"),
    ],
    ids=["an escape", "a line of its own", "an escape of eight bits", "written backwards"],
)
def test_what_a_device_says_stays_on_its_line(
    stream: type[io.StringIO], word: str, shown: str
) -> None:
    """It neither moves the cursor of whoever reads the log nor makes up lines of its own."""
    (line,) = written(Note("info", "word without a mapping", {"word": word}), stream=stream())
    assert word not in line
    # The console doubles the backslash of a text that it quotes.
    assert shown in line.replace("\\\\", "\\")


@pytest.mark.parametrize(
    ("level", "priority"), [("info", 6), ("warning", 4), ("error", 3), ("debug", 7)]
)
def test_the_journal_gets_json_and_an_urgency(tmp_path: Path, level: Level, priority: int) -> None:
    """sd-daemon(3): the number in angle brackets is syslog's; the rest is one JSON object."""
    with (tmp_path / "journal").open("w+", encoding="utf-8") as stream:
        status = os.fstat(stream.fileno())
        journal = {"JOURNAL_STREAM": f"{status.st_dev}:{status.st_ino}"}
        note_logger(stream, journal, least="debug")(Note(level, "lost\nand found", {"count": 3}))
        stream.flush()
        stream.seek(0)
        (line,) = stream.read().splitlines()
    assert line.startswith(f"<{priority}>{{")
    assert json.loads(line[3:]) == {"event": "lost\nand found", "level": level, "count": 3}


@pytest.mark.parametrize("named", ["0:0", "nonsense", ""])
def test_another_programs_journal_is_not_ours(tmp_path: Path, named: str) -> None:
    """The variable is inherited by all that a session starts; only the stream itself decides."""
    with (tmp_path / "log").open("w+", encoding="utf-8") as stream:
        note_logger(stream, {"JOURNAL_STREAM": named})(NOTE)
        stream.flush()
        stream.seek(0)
        assert "message not taken" in stream.read().partition("{")[0]


def test_a_full_disk_costs_the_line_and_nothing_else() -> None:
    """The device that is always full says so as a disk would."""
    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    written_out = 0
    with suppress(OSError), Path("/dev/full").open("w", encoding="utf-8") as stream:
        write = note_logger(stream, {})
        for _ in range(3):
            write(NOTE)
            written_out += 1
    assert written_out == 3
