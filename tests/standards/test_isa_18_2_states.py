"""The states of an alarm after ISA-18.2 and its edges, and a timeline of its two delays.

Source: the alarm state model of ANSI/ISA-18.2 (IEC 62682) as OPC UA part 9 (OPC 10000-9), which
follows it, gives its states and edges (read). The timeline is of the kind that part 9 B.1.5 draws
of on-delay, off-delay and re-alarm; its instants are ours, and what follows from them is worked
out by hand from what a delay is (from memory). "Re-alarm after a time" is our escalation;
"suppressed by design" is left to the tables, which may show something else.
"""

from __future__ import annotations

import pytest

from bridge.facts.truth import Truth
from bridge.rules.alarm import Escalation
from bridge.rules.alarm_records import Kind
from bridge.rules.alarm_states import Sequence
from bridge.rules.alarming import AlarmMachine
from tests.rules.alarms import WALL_MS, F, T, alarm, at, done, machine

#: The standard's words for a state, by ours.
STANDARD = {
    "normal": "normal",
    "unacknowledged": "unacknowledged alarm",
    "acknowledged": "acknowledged alarm",
    "returned": "returned to normal unacknowledged",
    "latched": "latched acknowledged",
    "shelved": "shelved",
    "out-of-service": "out of service",
}

#: An edge of the standard: the steps before it, its own step, where it leads, in which sequences.
#: A latch that nobody acknowledged is "returned to normal unacknowledged" with us.
EDGES = [
    ("condition true", "", "true", "unacknowledged alarm", "AMR"),
    ("acknowledge", "true", "acknowledge", "acknowledged alarm", "AMR"),
    ("cleared before acknowledge", "true", "false", "returned to normal unacknowledged", "AMR"),
    ("acknowledge once cleared", "true false", "acknowledge", "normal", "A"),
    (
        "acknowledge once cleared, latching",
        "true false",
        "acknowledge",
        "latched acknowledged",
        "MR",
    ),
    ("cleared after acknowledge", "true acknowledge", "false", "normal", "A"),
    (
        "cleared after acknowledge, latching",
        "true acknowledge",
        "false",
        "latched acknowledged",
        "MR",
    ),
    ("again before acknowledge", "true false", "true", "unacknowledged alarm", "AMR"),
    ("again after acknowledge", "true acknowledge false", "true", "unacknowledged alarm", "AMR"),
    ("reset of a latch", "true acknowledge false", "reset", "normal", "MR"),
    ("shelve", "true", "shelve", "shelved", "AMR"),
    ("out of service", "true", "take out", "out of service", "AMR"),
    # Back from either, it is whatever the live condition says.
    ("unshelve, still true", "true shelve", "unshelve", "unacknowledged alarm", "AMR"),
    ("unshelve, never true", "shelve", "unshelve", "normal", "AMR"),
    ("unshelve, true meanwhile", "shelve true", "unshelve", "unacknowledged alarm", "AMR"),
    ("unshelve, gone meanwhile", "true acknowledge shelve false", "unshelve", "normal", "A"),
    ("its time on the shelf is over", "true shelve", "an hour", "unacknowledged alarm", "AMR"),
    ("back in service, true meanwhile", "take out true", "put back", "unacknowledged alarm", "AMR"),
    ("back in service, never true", "take out", "put back", "normal", "AMR"),
]


def take(made: AlarmMachine, step: str, ms: int) -> None:
    """One step of an edge, written down at once where somebody wishes it."""
    occurrence, now = made.occurrence or "", at(ms)
    match step:
        case "true" | "false":
            made.judge(T if step == "true" else F, now)
            return
        case "an hour":
            made.settle(at(ms + 3_600_000))
            return
        case "acknowledge":
            answer = made.acknowledge(occurrence, "ann", now)
        case "reset":
            answer = made.reset(occurrence, "ann", now)
        case "shelve":
            answer = made.shelve(WALL_MS + 3_600_000, "spool ordered", "ann", now)
        case "unshelve":
            answer = made.unshelve("ann", now)
        case "take out":
            answer = made.out_of_service("sensor broken", "ann", now)
        case _:
            answer = made.return_to_service("ann", now)
    made.confirmed(done(answer).number)


def steps_of(text: str) -> list[str]:
    """The steps before an edge; "take out" is one."""
    return [word.replace("-", " ") for word in text.replace("take out", "take-out").split()]


CASES = [
    pytest.param(before, step, after, sequence, id=f"{name} ({sequence})")
    for name, before, step, after, sequences in EDGES
    for sequence in sequences
]


@pytest.mark.parametrize(("before", "step", "after", "sequence"), CASES)
def test_edge(before: str, step: str, after: str, sequence: Sequence) -> None:
    """Each leads where the standard says."""
    made = machine(alarm(sequence))
    made.judge(F, at(0))
    ms = 0
    for ms, earlier in enumerate(steps_of(before), 1):
        take(made, earlier, ms)
    take(made, step, ms + 1)
    symbol = made.symbol()
    assert isinstance(symbol, str)
    assert STANDARD[symbol] == after


#: A condition that bounces, seen through an on-delay of 10 s and an off-delay of 20 s.
TRUTHS: list[tuple[int, Truth]] = [
    (0, F),
    (30, T),  # a short touch: away again before the on-delay
    (36, F),
    (50, T),  # stays: raised at 60
    (75, F),  # a short gap: back before the off-delay
    (90, T),
    (120, F),  # gone for good: returned at 140
    (141, T),  # and once more for long enough: raised again at 151
    (160, F),  # returned at 180
]
TIMELINE = [
    (60, Kind.RAISED),
    (140, Kind.RETURNED),
    (151, Kind.RAISED),
    (180, Kind.RETURNED),
]


@pytest.mark.parametrize("sequence", ["A", "M", "R"])
def test_timeline_of_both_delays(sequence: Sequence) -> None:
    """Neither a short touch nor a short gap is an alarm; what lasts is, one delay late."""
    made = machine(alarm(sequence, on_delay_ms=10_000, off_delay_ms=20_000))
    changes = [change for s, truth in TRUTHS for change in made.judge(truth, at(s * 1_000))]
    changes += made.settle(at(300_000))
    assert [(change.at.ms // 1_000, change.kind) for change in changes] == TIMELINE
    assert all(change.at.ms % 1_000 == 0 for change in changes)


def test_timeline_acknowledged_in_between() -> None:
    """Acknowledged at 65 s: back to normal at 140 s, and at 151 s it is a new alarm."""
    made = machine(alarm("A", on_delay_ms=10_000, off_delay_ms=20_000))
    seen: list[tuple[int, str | None, str]] = []
    for s in range(301):
        for at_s, truth in TRUTHS:
            if at_s == s:
                made.judge(truth, at(s * 1_000))
        made.settle(at(s * 1_000))
        if s == 65:
            made.confirmed(done(made.acknowledge("evening-1", "ann", at(65_000))).number)
        symbol = str(made.symbol())
        if not seen or seen[-1][1:] != (made.occurrence, symbol):
            seen.append((s, made.occurrence, symbol))
    assert seen == [
        (0, None, "normal"),
        (60, "evening-1", "unacknowledged"),
        (65, "evening-1", "acknowledged"),
        (140, None, "normal"),
        (151, "evening-2", "unacknowledged"),
        (180, "evening-2", "returned"),
    ]


def test_reminded_after_a_time() -> None:
    """What nobody acknowledged makes itself heard once more when its time is over."""
    made = machine(alarm("A", on_delay_ms=10_000, escalate=Escalation(45_000, ("door",))))
    made.judge(T, at(0))
    changes = made.settle(at(120_000))
    assert [(change.at.ms, change.kind) for change in changes] == [
        (10_000, Kind.RAISED),
        (55_000, Kind.ESCALATED),
    ]
