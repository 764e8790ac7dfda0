"""What history adds up to, line by line made up."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Final

import pytest

from bridge.engine.records import Happening
from bridge.facts.moment import Moment
from bridge.facts.truth import Truth
from bridge.recording.history import (
    AlarmSummary,
    Chosen,
    PrinterSummary,
    Window,
    alarm_summaries,
    chosen,
    printer_summaries,
)
from bridge.rules.alarm import Alarm
from bridge.rules.alarm_records import Occurrences
from bridge.rules.alarming import AlarmMachine
from bridge.rules.table import Source

S: Final = 1000
MINUTE: Final = 60 * S
HOUR: Final = 60 * MINUTE
DAY: Final = 24 * HOUR
ALL: Final = Window()


def alarm(what: str, wall_ms: int | None, *, after_ms: int | None = None) -> Happening:
    """A line about the alarm ``jam`` of kestrel."""
    return Happening("alarm", what, wall_ms, printer="kestrel", name="jam", after_ms=after_ms)


def hearing(what: str, wall_ms: int, printer: str = "kestrel") -> Happening:
    """A line about how fresh facts are."""
    return Happening("hearing", what, wall_ms, printer=printer)


def start(what: str, wall_ms: int | None) -> Happening:
    """The bridge starts or stops."""
    return Happening("start", what, wall_ms)


LINES: Final = [
    start("started", 0),
    Happening("segment", "feed-me", 1, "kestrel", "frame", "out of material"),
    Happening("segment", "ready", 2, "plover", "shelf", "idle"),
    Happening("alarm", "raised", 3, "kestrel", name="jam"),
    Happening("prompt", "raised", 4, "plover", name="collect"),
    Happening("job", "completed", 5, "plover", name="jam"),
    Happening("hold", "held", 6, segment="shelf", name="dark"),
]
CHOICES: Final = [
    (Chosen(), [0, 1, 2, 3, 4, 5, 6]),
    (Chosen(printer="kestrel"), [1, 3]),
    (Chosen(segment="shelf"), [2, 6]),
    (Chosen(alarm="jam"), [3]),
    (Chosen(alarm="collect"), [4]),
    (Chosen(alarm="jam", printer="plover"), []),
    (Chosen(segment="shelf", printer="plover"), [2]),
]


@pytest.mark.parametrize(("asked", "expected"), CHOICES)
def test_lines_are_chosen_by_what_they_are_about(asked: Chosen, expected: list[int]) -> None:
    """All that is named must fit; a job that is named as an alarm is none."""
    assert chosen(LINES, asked, ALL) == [LINES[number] for number in expected]


WINDOWS: Final = [
    (Window(), 7),
    (Window(2), 5),
    (Window(None, 2), 2),
    (Window(2, 5), 3),
    (Window(7), 0),
    (Window(5, 2), 0),
]


@pytest.mark.parametrize(("window", "count"), WINDOWS)
def test_lines_are_chosen_by_time(window: Window, count: int) -> None:
    """The beginning is in, the end is not."""
    assert len(chosen(LINES, Chosen(), window)) == count


def test_a_line_from_before_the_clock_was_known_goes_with_the_next() -> None:
    """A board without a clock of its own starts without; where none follows, it has no time."""
    lines = [start("started", None), alarm("raised", None), alarm("returned", 50)]
    assert chosen(lines, Chosen(), Window(50, 51)) == lines
    assert chosen(lines, Chosen(), Window(51)) == []
    assert chosen(lines[:2], Chosen(), ALL) == lines[:2]
    assert chosen(lines[:2], Chosen(), Window(0)) == []


def of_jam(lines: list[Happening], window: Window = ALL, now_ms: int = 0) -> AlarmSummary:
    """The one summary."""
    (summary,) = alarm_summaries(lines, window, now_ms)
    assert (summary.alarm, summary.printer) == ("jam", "kestrel")
    return summary


MEDIANS: Final = [
    ([], None, None),
    ([7], 7, 7),
    ([9, 1], 5, 9),
    ([9, 1, 2], 2, 9),
    ([4, 8, 6, 2], 5, 8),
]


@pytest.mark.parametrize(("waits", "median_ms", "longest_ms"), MEDIANS)
def test_times_to_the_acknowledgement(
    waits: list[int], median_ms: int | None, longest_ms: int | None
) -> None:
    """The middle one and the longest; an alarm that nobody acknowledged has none."""
    lines = [alarm("raised", 0), *(alarm("acknowledged", 1, after_ms=wait) for wait in waits)]
    summary = of_jam(lines)
    assert (summary.median_ms, summary.longest_ms) == (median_ms, longest_ms)
    assert (summary.raised, summary.acknowledged) == (1, len(waits))


def test_an_acknowledgement_of_unknown_length_counts() -> None:
    """It was given all the same."""
    summary = of_jam([alarm("raised", None), alarm("acknowledged", None)])
    assert (summary.raised, summary.acknowledged, summary.median_ms) == (1, 1, None)


def test_each_alarm_of_each_printer_is_told_apart() -> None:
    """By name, then by printer; prompts are no alarms."""
    other = replace(alarm("raised", 1), printer="plover")
    prompt = Happening("prompt", "raised", 1, "kestrel", name="collect")
    third = replace(alarm("raised", 1), name="door")
    found = alarm_summaries([alarm("raised", 1), other, other, prompt, third], ALL, 1)
    assert [(each.alarm, each.printer, each.raised) for each in found] == [
        ("door", "kestrel", 1),
        ("jam", "kestrel", 1),
        ("jam", "plover", 2),
    ]


def pairs(*times_s: tuple[float, float]) -> list[Happening]:
    """Raised and returned at these instants, in seconds."""
    lines = []
    for raised_s, returned_s in times_s:
        lines += [alarm("raised", round(raised_s * S)), alarm("returned", round(returned_s * S))]
    return lines


CHATTERING: Final = [
    ((), 0),
    (((0, 1), (20, 21)), 0),
    (((0, 1), (20, 21), (59, 60)), 1),
    (((0, 1), (20, 21), (59, 60.001)), 0),
    # It goes on: one episode.
    (((0, 1), (10, 11), (20, 21), (30, 31), (40, 41)), 1),
    # It was quiet in between: two.
    (((0, 1), (10, 11), (20, 21), (200, 201), (210, 211), (220, 221)), 2),
    (((0, 1), (100, 101), (200, 201)), 0),
]


@pytest.mark.parametrize(("times", "episodes"), CHATTERING)
def test_chattering_is_three_in_a_minute(
    times: tuple[tuple[float, float], ...], episodes: int
) -> None:
    """EEMUA 191: three or more raise-and-return pairs in a minute, the minute included."""
    lines = [alarm("raised", -DAY // 2), *pairs(*times)]
    assert of_jam(lines).chattering == episodes


@pytest.mark.parametrize(("times", "episodes"), CHATTERING)
def test_history_calls_chattering_what_the_machine_does(
    times: tuple[tuple[float, float], ...], episodes: int
) -> None:
    """The same instants through the machine: it ends up chattering, or not, as history has it."""
    declared = Alarm("jam", (), 0, 0, "A", "low", "", "", None, Source("rules.yaml", 1, 1))
    machine = AlarmMachine(declared, "kestrel", Occurrences("0"))
    chatters = [False]
    for line in pairs(*times):
        moment = Moment(line.wall_ms or 0)
        machine.judge(Truth.TRUE if line.what == "raised" else Truth.FALSE, moment)
        if line.what == "returned":
            chatters.append(machine.is_chattering(moment))
    begins = sum(later and not earlier for earlier, later in pairwise(chatters))
    assert begins == episodes


STANDING: Final = [
    ([alarm("raised", 0), alarm("returned", DAY)], ALL, 0),
    ([alarm("raised", 0), alarm("returned", DAY + 1)], ALL, 1),
    ([alarm("raised", 0), alarm("acknowledged", 5), alarm("withdrawn by edit", DAY + 1)], ALL, 1),
    # Still active, or active again since.
    ([alarm("raised", 0)], ALL, 1),
    ([alarm("raised", 0), alarm("raised", DAY)], ALL, 0),
    ([alarm("raised", 0), alarm("returned", 1)], ALL, 0),
    # It stood, but not in the window, or in a part of it.
    ([alarm("raised", 0), alarm("returned", DAY + 1)], Window(DAY + 1), 0),
    ([alarm("raised", 0), alarm("returned", DAY + 1)], Window(DAY), 1),
    ([alarm("raised", None), alarm("returned", 5 * DAY)], ALL, 0),
    ([alarm("raised", 0), alarm("returned", None)], ALL, 0),
]


@pytest.mark.parametrize(("lines", "window", "count"), STANDING)
def test_standing_is_more_than_a_day(lines: list[Happening], window: Window, count: int) -> None:
    """ISA-18.2: active without a break for more than 24 h, to the end of what is known."""
    found = alarm_summaries(lines, window, DAY + HOUR)
    assert sum(each.standing for each in found) == count


def test_only_what_lies_in_the_window_counts() -> None:
    """An alarm that did nothing then is not named."""
    lines = [alarm("raised", 5), alarm("acknowledged", 9, after_ms=4), alarm("raised", 20)]
    assert of_jam(lines, Window(6, 20)).raised == 0
    assert of_jam(lines, Window(6, 20)).longest_ms == 4
    assert of_jam(lines, Window(20)).acknowledged == 0
    assert alarm_summaries(lines, Window(30), 40) == ()


def of_kestrel(
    lines: list[Happening], now_ms: int, window: Window = ALL, printers: tuple[str, ...] = ()
) -> PrinterSummary:
    """Its summary."""
    found = printer_summaries(lines, ("kestrel", *printers), window, now_ms)
    return next(each for each in found if each.printer == "kestrel")


UNHEARD: Final = [
    # Heard from the fifth minute on, for twenty, of an hour.
    ([start("started", 0), hearing("fresh", 5), hearing("stale", 25)], 60, ALL, 60, 40),
    ([start("started", 0)], 60, ALL, 60, 60),
    ([start("started", 0), hearing("fresh", 0)], 60, ALL, 60, 0),
    # What another printer says is nothing of this one.
    ([start("started", 0), hearing("fresh", 0, "plover")], 60, ALL, 60, 60),
    # While the bridge does not run nobody watches; afterwards it must hear again.
    (
        [start("started", 0), hearing("fresh", 0), start("stopped", 10), start("started", 50)],
        60,
        ALL,
        20,
        10,
    ),
    # It ended without a word: what is after its last line does not count.
    ([start("started", 0), hearing("fresh", 10), start("started", 50)], 60, ALL, 20, 20),
    ([start("started", 0), start("stopped", 10)], 60, ALL, 10, 10),
    # Of a window only what lies in it.
    ([start("started", 0), hearing("fresh", 10)], 60, Window(5 * MINUTE, 20 * MINUTE), 15, 5),
    # The beginning of history is gone: it ran.
    ([hearing("fresh", 10), hearing("stale", 30)], 60, ALL, 50, 30),
    # The clock was put back: no time is counted twice, and none goes back.
    ([start("started", 50), hearing("fresh", 50), hearing("stale", 20)], 30, ALL, 10, 10),
    ([], 60, ALL, 0, 0),
]


@pytest.mark.parametrize(("lines", "now", "window", "watched", "unheard"), UNHEARD)
def test_time_without_fresh_facts(
    lines: list[Happening], now: int, window: Window, watched: int, unheard: int
) -> None:
    """In minutes, of the time that the bridge is known to have run."""
    lines = [replace(each, wall_ms=(each.wall_ms or 0) * MINUTE) for each in lines]
    summary = of_kestrel(lines, now * MINUTE, window)
    assert (summary.watched_ms, summary.unheard_ms) == (watched * MINUTE, unheard * MINUTE)
    assert summary.unheard == (unheard / watched if watched else None)


def test_outcomes_of_jobs_are_counted_by_printer() -> None:
    """Each outcome, also of a job that vanished; only in the window; standing still is none."""
    lines = [
        Happening("job", what, at, printer=printer)
        for at, (printer, what) in enumerate(
            [
                ("kestrel", "completed"),
                ("plover", "completed"),
                ("kestrel", "vanished"),
                ("kestrel", "completed"),
                ("gannet", "aborted"),
                ("kestrel", "stalled"),
            ]
        )
    ]
    assert of_kestrel(lines, 9).outcomes == {"completed": 2, "vanished": 1}
    assert dict(of_kestrel(lines, 9, Window(3)).outcomes) == {"completed": 1}
    found = printer_summaries(lines, ("plover", "kestrel"), ALL, 9)
    assert [each.printer for each in found] == ["kestrel", "plover"]
