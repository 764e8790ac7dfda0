"""``lampwright alarms``: what stands, who is wanted, what is held, and what nobody knows."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime, timedelta

import pytest

from bridge.cli.alarms import lines_of, told_of
from bridge.engine.view import HoldView, View
from bridge.service.view_plain import view_plain
from tests.cli.commands import CONFIG, hold_to_shape, lampwright
from tests.cli.local_daemon import NOW_MS, LocalDaemon, alarm, picture, prompt

NOON = datetime(2026, 3, 7, 12, 0, tzinfo=UTC)


def wall_ms(**later: int) -> int:
    """So much after noon."""
    return int((NOON + timedelta(**later)).timestamp() * 1000)


def lines(view: View) -> list[str]:
    """What is said of it at noon."""
    return list(lines_of(told_of(view_plain(view), NOON), NOON))


BUSY = picture(
    (
        alarm("jam", "plover", "normal", None),
        alarm("far", "plover", "unknown", None, since_ms=None),
        alarm("cold", "plover", "shelved", "p-1", shelved_until_wall_ms=wall_ms(hours=2)),
        alarm(
            "lid",
            "plover",
            "out-of-service",
            None,
            since_ms=None,
            priority="low",
            shelved_until_wall_ms=wall_ms(hours=2),
        ),
        alarm(
            "material-out",
            "kestrel",
            "unacknowledged",
            "k-1",
            priority="high",
            response="load a spool",
            cause="the spool ran out",
            escalated=True,
        ),
        alarm("door", "kestrel", "latched", "k-2", since_ms=NOW_MS - 90_000_000, standing=True),
        alarm("warm", "kestrel", "acknowledged", "k-3", cause="the sun", unconfirmed=True),
    ),
    (prompt("collect", "plover", "p-2"), prompt("look", "plover", None)),
    (
        HoldView("shelf", "dark", wall_ms(hours=13), NOW_MS + 46_800_000, "Ada"),
        HoldView("shelf-lamp", "warm", None, None, "Bo"),
    ),
)


def test_people_read_a_table() -> None:
    """The gravest first, then the oldest; a date only where it is another day."""
    *table, frame, lamp, unknown = lines(BUSY)
    assert [[cell for cell in re.split(r"  +", line) if cell] for line in table] == [
        ["PRINTER", "NAME", "STATE", "SINCE", "OCCURRENCE", "WHAT TO DO"],
        ["kestrel", "material-out", "unacknowledged, escalated", "11:50", "k-1", "load a spool"],
        ["kestrel", "door", "latched, standing", "2026-03-06 11:00", "k-2"],
        ["plover", "cold", "shelved until 14:00", "11:50", "p-1"],
        ["kestrel", "warm", "acknowledged, unconfirmed", "11:50", "k-3", "the sun"],
        ["plover", "lid", "out-of-service"],
        ["plover", "collect", "waiting", "11:59", "p-2", "take it out"],
    ]
    cells = ("OCCURRENCE", "k-1", "k-2", "p-1", "k-3")
    assert len({line.find(cell) for line, cell in zip(table[:5], cells, strict=True)}) == 1
    assert frame == "shelf is held in dark until 2026-03-08 01:00 by Ada"
    assert lamp == "shelf-lamp is held in warm until released by Bo"
    assert unknown == "of plover nobody knows: far"


def test_where_nothing_stands_it_says_so() -> None:
    """And no empty table."""
    quiet = picture((alarm("jam", "plover", "normal", None),), (prompt("look", "plover", None),))
    assert lines(quiet) == ["no alarm stands, and nobody is wanted"]
    assert lines(picture()) == ["no alarm stands, and nobody is wanted"]


def test_what_nobody_knows_is_not_told_as_nothing() -> None:
    """A printer that was never heard may have anything."""
    unheard = picture((alarm("jam", "plover", "unknown", None),))
    assert lines(unheard) == [
        "no alarm is known to stand; of some nobody knows",
        "of plover nobody knows: jam",
    ]


def test_programs_get_whole_instants() -> None:
    """With their zone; what is not known is null."""
    told = told_of(view_plain(BUSY), NOON)
    assert told["alarms"][0] == {
        "printer": "kestrel",
        "alarm": "material-out",
        "state": "unacknowledged",
        "marks": ["escalated"],
        "priority": "high",
        "since": "2026-03-07T11:50:00+00:00",
        "until": None,
        "occurrence": "k-1",
        "cause": "the spool ran out",
        "response": "load a spool",
    }
    assert told["alarms"][2]["until"] == "2026-03-07T14:00:00+00:00"
    assert (told["alarms"][4]["since"], told["alarms"][4]["until"]) == (None, None)
    assert [each["until"] for each in told["holds"]] == ["2026-03-08T01:00:00+00:00", None]
    assert told["not_known"] == [{"printer": "plover", "alarm": "far"}]
    hold_to_shape(json.dumps(told), "alarms")


def test_the_daemon_is_asked(local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]) -> None:
    """Through its socket, for people and programs; nothing is wished."""
    local_daemon.view = BUSY
    code, said, _ = lampwright(capsys, "alarms", CONFIG)
    assert (code, len(said.splitlines())) == (0, 10)
    code, said, _ = lampwright(capsys, "alarms", CONFIG, "--json")
    told = hold_to_shape(said, "alarms")
    assert isinstance(told, dict)
    assert (code, len(told["alarms"]), local_daemon.wishes) == (0, 5, [])


def test_without_a_daemon_it_says_how_to_start_one(
    tmp_path: object, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In one line, with 2."""
    monkeypatch.setenv("RUNTIME_DIRECTORY", str(tmp_path))
    code, said, complaint = lampwright(capsys, "alarms", CONFIG)
    assert (code, said) == (2, "")
    assert "no daemon runs this site" in complaint
    assert len(complaint.splitlines()) == 1


def test_a_name_cannot_write_to_the_terminal(
    local_daemon: LocalDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever held it may be called anything."""
    local_daemon.view = picture(holds=(HoldView("shelf", "dark", None, None, "\x1b[2J"),))
    _, said, _ = lampwright(capsys, "alarms", CONFIG)
    assert "\x1b" not in said
    assert "by \\x1b[2J" in said
