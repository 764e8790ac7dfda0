"""History in words, as a sheet and for programs."""

from __future__ import annotations

import csv
from zoneinfo import ZoneInfo

import pytest

from bridge.cli.history_text import Told, duration_text, plain, sheet, table
from bridge.engine.records import Happening
from bridge.recording.history import AlarmSummary, PrinterSummary, Window

LONDON = ZoneInfo("Europe/London")
#: 2026-10-25 00:30 UTC: half an hour before the clocks go back.
BEFORE = 1_792_888_200_000
HOUR = 3_600_000

DURATIONS = [
    (0, "0s"),
    (999, "999ms"),
    (1000, "1s"),
    (1001, "1s 1ms"),
    (65_000, "1m 5s"),
    (HOUR, "1h"),
    (HOUR + 1000, "1h"),
    (26 * HOUR + 60_000, "1d 2h"),
    (48 * HOUR, "2d"),
]


@pytest.mark.parametrize(("ms", "text"), DURATIONS)
def test_a_length_of_time_has_its_two_largest_units(ms: int, text: str) -> None:
    """Units as the site's files write them."""
    assert duration_text(ms) == text


WORDS = [
    (Happening("start", "started", 0), "-", "the bridge started"),
    (
        Happening("segment", "feed-me", 0, "kestrel", "frame", "out of material", "it is raised"),
        "frame",
        "shows feed-me, rule 'out of material' for kestrel: it is raised",
    ),
    (Happening("segment", "warm", 0, segment="rack"), "rack", "shows warm"),
    (Happening("alarm", "raised", 0, "kestrel", name="jam"), "kestrel", "alarm jam raised"),
    (
        Happening("alarm", "acknowledged", 0, "kestrel", name="jam", who="Ada", after_ms=65_000),
        "kestrel",
        "alarm jam acknowledged after 1m 5s by Ada",
    ),
    # How long after the raise it returned is told nowhere else, and asked by nobody.
    (
        Happening("alarm", "returned", 0, "kestrel", name="jam", after_ms=65_000),
        "kestrel",
        "alarm jam returned",
    ),
    (
        Happening("prompt", "collected", 0, "plover", name="collect", who="Ada", after_ms=1000),
        "plover",
        "prompt collect collected after 1s by Ada",
    ),
    (
        Happening("job", "vanished", 0, "plover", name="tug", after_ms=HOUR, progress=0.63),
        "plover",
        "job tug vanished at 63% after 1h",
    ),
    (Happening("job", "completed", 0, "plover"), "plover", "job completed"),
    (Happening("hearing", "stale", 0, "plover"), "plover", "no fresh facts"),
    (Happening("hearing", "fresh", 0, "plover"), "plover", "facts are fresh"),
    (
        Happening("hold", "held", 0, segment="shelf", name="dark", who="Ada"),
        "shelf",
        "held dark by Ada",
    ),
    (Happening("hold", "released", 0, segment="shelf"), "shelf", "released"),
    (
        Happening("job", "completed", 0, "plover", name="a\x1b[2J\nb"),
        "plover",
        "job a\\x1b[2J\\nb completed",
    ),
]


@pytest.mark.parametrize(("happening", "whose", "words"), WORDS)
def test_each_line_says_what_happened_to_whom(happening: Happening, whose: str, words: str) -> None:
    """In words, on one line, and nothing of a device's own words reaches the terminal."""
    (line,) = table(Told(Window(), [happening], [], []), LONDON)
    assert line == f"1970-01-01 01:00:00 BST  {whose}  {words}"


def test_an_hour_that_comes_twice_is_told_apart() -> None:
    """By the name of its zone, or its offset; a time that is not known is said to be none."""
    lines = [Happening("start", "started", at) for at in (BEFORE, BEFORE + HOUR, None)]
    told = Told(Window(), lines, [], [])
    assert [line.split("  ")[0] for line in table(told, LONDON)] == [
        "2026-10-25 01:30:00 BST",
        "2026-10-25 01:30:00 GMT",
        "time not known",
    ]
    assert [row[0] for row in csv.reader(sheet(told, LONDON))] == [
        "at",
        "2026-10-25T01:30:00.000+01:00",
        "2026-10-25T01:30:00.000+00:00",
        "",
    ]


def test_the_sums_follow() -> None:
    """Alarms, then printers, each in columns; what did not happen is not said."""
    alarms = [
        AlarmSummary("jam", "kestrel", 3, 2, 40_000, 65_000, 1, 2),
        AlarmSummary("material-out", "plover", 1, 0, None, None, 0, 0),
    ]
    printers = [
        PrinterSummary("kestrel", {"vanished": 1, "completed": 3}, 5 * HOUR, HOUR),
        PrinterSummary("plover", {}, 0, 0),
    ]
    times = "after 40s in the median, 1m 5s at most"
    jam = f"raised 3, acknowledged 2 ({times}), chattering 1, standing over a day 2"
    assert list(table(Told(Window(), [], alarms, printers), LONDON)) == [
        "",
        "alarms",
        f"jam           kestrel  {jam}",
        "material-out  plover   raised 1, acknowledged 0",
        "",
        "printers",
        "kestrel  completed 3, vanished 1; without fresh facts 20.0% of 5h",
        "plover   no job ended; nobody watched",
    ]


def test_a_sheet_has_a_row_a_line() -> None:
    """Every field under its name, quoted where it must be."""
    line = Happening("job", "vanished", 0, "plover", name='tug, "red"', after_ms=5, progress=0.5)
    rows = list(csv.DictReader(sheet(Told(Window(), [line], [], []), LONDON)))
    assert rows == [
        {
            "at": "1970-01-01T01:00:00.000+01:00",
            "subject": "job",
            "what": "vanished",
            "printer": "plover",
            "segment": "",
            "name": 'tug, "red"',
            "cause": "",
            "occurrence": "",
            "who": "",
            "after_ms": "5",
            "progress": "0.5",
        }
    ]


def test_programs_get_everything() -> None:
    """The window, the lines and the sums, with their share."""
    told = Told(
        Window(0, None),
        [Happening("start", "started", None)],
        [AlarmSummary("jam", "kestrel", 3, 2, 40_000, 65_000, 1, 2)],
        [PrinterSummary("kestrel", {"vanished": 1}, 5 * HOUR, HOUR)],
    )
    value = plain(told, LONDON)
    assert (value["since"], value["until"]) == ("1970-01-01T01:00:00.000+01:00", None)
    assert value["lines"] == [
        {"at": None, "subject": "start", "what": "started", "after_ms": None, "progress": None}
        | dict.fromkeys(("printer", "segment", "name", "cause", "occurrence", "who"), "")
    ]
    assert value["printers"] == [
        {
            "printer": "kestrel",
            "outcomes": {"vanished": 1},
            "watched_ms": 5 * HOUR,
            "unheard_ms": HOUR,
            "unheard": 0.2,
        }
    ]
