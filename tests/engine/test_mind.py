"""What the rules see of one printer: facts, past, alarms, prompts and the time, in one go."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import pytest

from bridge.engine.mind import Machine, Mind
from bridge.engine.site import Site
from bridge.facts.memory import OWN_REASONS
from bridge.facts.moment import Moment
from bridge.facts.reader import Interval
from bridge.facts.values import Facts, FactValue, Reason, Reasons, Severity, Unknown, Why
from bridge.rules.alarm_records import Change, Kind, Occurrences
from bridge.rules.conditions import NumberIn, SymbolIs
from tests.engine.evening import (
    ALARMS,
    DONE,
    ESCALATES_MS,
    HOUR_MS,
    IDLE,
    OFF_MS,
    ON_MS,
    SIX_PM,
    alarm,
    has,
    night,
    row,
    site,
)

EMPTY = Reasons((Reason("material-empty", Severity.ERROR, "material-empty"),))
NONE = Reasons(())
LOST = Unknown(Why.SOURCE_LOST)
RESTS: Facts = {"link": "up", "stale": False, "state": "idle", "reasons": NONE}
NOTHING_KNOWN: Facts = {
    "link": Unknown(Why.SOURCE_LOST),
    "stale": True,
    "state": LOST,
    "reasons": LOST,
}


def at(ms: int) -> Moment:
    """An instant of the evening."""
    return Moment(ms, SIX_PM + ms)


@dataclass
class Head:
    """Kestrel's mind, what was told of it, and what it was told last."""

    site: Site = field(default_factory=site)
    told: list[tuple[str, Kind, int]] = field(default_factory=list)
    facts: dict[str, FactValue] = field(default_factory=dict)
    mind: Mind = field(init=False)

    def __post_init__(self) -> None:
        printer = self.site.printers["kestrel"]
        self.mind = Mind(self.site, printer, Occurrences("evening"), self._told)
        self.facts.update(RESTS)
        self.mind.start(self.facts, at(0))

    def _told(self, machine: Machine, change: Change) -> None:
        assert change.name == getattr(machine, "alarm", getattr(machine, "prompt", None)).name  # type: ignore[union-attr]
        self.told.append((change.name, change.kind, change.at.ms))

    def hear(self, ms: int, **facts: FactValue) -> set[str]:
        """These facts change; names with underscores for hyphens."""
        changed = {name.replace("_", "-"): value for name, value in facts.items()}
        self.facts.update(changed)
        return self.mind.heard(self.facts, frozenset(changed), at(ms))

    def hear_all(self, ms: int, facts: Facts) -> set[str]:
        """All of these change."""
        self.facts.update(facts)
        return self.mind.heard(self.facts, frozenset(facts), at(ms))

    def wake_until(self, end_ms: int) -> list[tuple[int, set[str]]]:
        """Settle at each deadline up to then; when, and what changed."""
        woken: list[tuple[int, set[str]]] = []
        now_ms = -1
        while (due_ms := self.mind.deadline(at(max(now_ms, 0)))) is not None and due_ms <= end_ms:
            assert due_ms > now_ms, "a deadline that does not move on"
            now_ms = due_ms
            woken.append((due_ms, self.mind.settle(at(due_ms))))
        return woken


def is_unknown(head: Head, fact: str) -> bool:
    """Whether a fact is."""
    return isinstance(head.mind.facts[fact], Unknown)


def test_one_change_runs_through_all_of_it() -> None:
    """From the state by the alarm to what the rules see of it, in the same instant."""
    head = Head()
    changed = head.hear(100, state="stopped")
    assert changed >= {"state", "alarm halted"}
    assert head.mind.facts["alarm halted"] == "unacknowledged"
    assert head.told == [("halted", Kind.RAISED, 100)]
    assert head.hear(200) == set()


def test_an_on_delay_ends_at_its_time_and_an_off_delay_too() -> None:
    """Raised and returned each at its own millisecond; the facts say so from then on."""
    head = Head()
    head.hear(1000, reasons=EMPTY)
    assert head.mind.facts["alarm material-out"] == "normal"
    assert head.wake_until(60_000) == [(1000 + ON_MS, {"alarm material-out"})]
    head.hear(20_000, reasons=NONE)
    assert head.mind.facts["alarm material-out"] == "unacknowledged"
    head.wake_until(20_000 + OFF_MS - 1)
    assert head.mind.facts["alarm material-out"] == "unacknowledged"
    head.wake_until(20_000 + OFF_MS)
    assert head.mind.facts["alarm material-out"] == "returned"
    assert [ms for _, _, ms in head.told] == [1000 + ON_MS, 20_000 + OFF_MS]


def test_unknown_freezes() -> None:
    """No raise, no return; the delay starts anew when it is known again."""
    head = Head()
    head.hear(0, reasons=EMPTY)
    head.hear_all(4000, NOTHING_KNOWN)
    assert head.wake_until(HOUR_MS) == []
    assert is_unknown(head, "alarm material-out")
    head.hear_all(HOUR_MS, {**RESTS, "reasons": EMPTY})
    head.wake_until(HOUR_MS + ON_MS - 1)
    assert head.told == []
    head.wake_until(HOUR_MS + ON_MS)
    assert head.told == [("material-out", Kind.RAISED, HOUR_MS + ON_MS)]
    head.hear_all(2 * HOUR_MS, NOTHING_KNOWN)
    assert head.mind.facts["alarm material-out"] == "unacknowledged"
    head.hear_all(3 * HOUR_MS, RESTS)
    head.wake_until(3 * HOUR_MS + OFF_MS)
    assert head.told[1:] == [("material-out", Kind.RETURNED, 3 * HOUR_MS + OFF_MS)]


def test_an_escalation_is_a_change_of_the_alarm() -> None:
    """Its word stays, but other segments must look again."""
    head = Head()
    head.hear(0, state="stopped")
    assert head.wake_until(HOUR_MS) == [(ESCALATES_MS, {"alarm halted"})]
    assert head.told[-1] == ("halted", Kind.ESCALATED, ESCALATES_MS)


def test_an_alarm_that_the_reader_cannot_speak_of_is_not_there() -> None:
    """It would be unknown for ever."""
    door = alarm("door", SymbolIs("site-door", frozenset({"open"})))
    head = Head(replace(site(), alarms=ALARMS | {"door": door}))
    assert "door" not in head.mind.alarms
    assert "alarm door" not in head.mind.facts


@pytest.mark.parametrize("keyword", ["bridge-job-vanished", "bridge-stalled"])
def test_an_alarm_on_the_bridges_own_reasons_needs_no_reasons_of_the_reader(keyword: str) -> None:
    """The memory makes them of the state."""
    there = site()
    kestrel = there.printers["kestrel"]
    mute = replace(kestrel.reader, offers=kestrel.reader.offers - {"reasons"})
    there = replace(
        there,
        printers={"kestrel": replace(kestrel, reader=mute)},
        alarms={"lost": alarm("lost", replace(has(keyword), fact=OWN_REASONS))},
    )
    assert "lost" in Head(there).mind.alarms
    assert "reasons" not in Head(there).mind.offered


def test_prompts_wait_for_the_outcome_and_end_when_the_platform_is_cool() -> None:
    """Raised by a job that completed; that it goes on being so does not raise it again."""
    head = Head()
    head.hear(0, state="processing", job="processing", platform_temperature=60.0)
    head.hear(1000, state="idle", job="completed")
    assert head.mind.facts["prompt collect"] == "waiting"
    head.hear(2000, platform_temperature=39.0)
    assert head.mind.facts["prompt collect"] == "normal"
    head.hear(3000, platform_temperature=60.0)
    head.hear(4000, platform_temperature=39.0)
    kinds = [kind for _, kind, ms in head.told if ms]
    assert kinds == [Kind.RAISED, Kind.ENDED]


def test_the_next_job_ends_a_prompt_and_its_end_raises_another() -> None:
    """Two completed jobs in a row are two parts."""
    head = Head()
    for start_ms in (0, 10_000):
        head.hear(start_ms, state="processing", job="processing", platform_temperature=60.0)
        assert head.mind.facts["prompt collect"] == "normal"
        head.hear(start_ms + 5000, state="idle", job="completed")
        assert head.mind.facts["prompt collect"] == "waiting"
    told = [(kind, ms) for _, kind, ms in head.told if ms and kind is not Kind.READY]
    assert told == [(Kind.RAISED, 5000), (Kind.ENDED, 10_000), (Kind.RAISED, 15_000)]


# The time ----------------------------------------------------------------------------------------


def longer_than(seconds: float) -> NumberIn:
    """Longer in this state than so many seconds."""
    interval = Interval(least=seconds, least_included=False)
    return NumberIn("time-in-state", interval, f"above {seconds} s")


def test_a_time_in_state_turns_at_its_millisecond() -> None:
    """Longer than so much is one after it; another state starts anew."""
    head = Head(site(row("tired", "see-me", IDLE, longer_than(600))))
    woken = head.wake_until(HOUR_MS)
    assert [ms for ms, _ in woken] == [600_001]
    assert head.mind.facts["time-in-state"] == 600.001
    head.hear(700_000, state="processing")
    assert head.mind.facts["time-in-state"] == 0.0


def test_a_row_that_must_last_does_so_from_the_instant_it_became_so() -> None:
    """Not knowing is a break."""
    head = Head(site(row("long idle", "dim", IDLE, lasting_ms=60_000)))
    fact = "lasting wall/long idle"
    assert head.mind.facts[fact] is False
    assert head.wake_until(HOUR_MS) == [(60_000, {fact})]
    head.hear_all(HOUR_MS, NOTHING_KNOWN)
    assert isinstance(head.mind.facts[fact], Unknown)
    head.hear_all(HOUR_MS + 1000, RESTS)
    assert head.mind.facts[fact] is False
    assert head.wake_until(2 * HOUR_MS) == [(HOUR_MS + 61_000, {fact})]


def test_the_night_begins_and_ends_by_the_clock_on_the_wall() -> None:
    """From 22:00 before 06:00, each at its own instant, over midnight."""
    head = Head(site(row("night", "dim", night(22, 6))))
    woken = [ms for ms, changed in head.wake_until(24 * HOUR_MS) if "local-time" in changed]
    assert {4 * HOUR_MS, 6 * HOUR_MS, 12 * HOUR_MS} <= set(woken)
    assert head.mind.facts["local-time"] in {0.0, 21_600.0, 79_200.0}


@pytest.mark.parametrize(
    ("wall_ms", "seconds"),
    [
        (SIX_PM + 5 * HOUR_MS, 23 * 3600.0),
        (SIX_PM - 5 * HOUR_MS, 13 * 3600.0),
        (SIX_PM + 6 * HOUR_MS, 0.0),
    ],
)
def test_a_clock_that_is_stepped_is_followed_at_once(wall_ms: int, seconds: float) -> None:
    """Forwards, backwards and over midnight."""
    head = Head(site(row("night", "dim", night(22, 6))))
    assert "local-time" in head.mind.clock(Moment(10, wall_ms))
    assert head.mind.facts["local-time"] == seconds


def test_a_clock_that_is_lost_makes_the_local_time_unknown() -> None:
    """And nothing is due by it."""
    head = Head(site(row("night", "dim", night(22, 6))))
    head.mind.clock(Moment(10))
    assert isinstance(head.mind.facts["local-time"], Unknown)
    assert head.mind.deadline(Moment(10)) is None


# What an earlier start left ----------------------------------------------------------------------


def test_what_the_memory_knew_before_the_start_the_rules_see_after_it() -> None:
    """The outcome of the last job, though nothing that is heard changes it."""
    head = Head()
    head.hear(0, state="processing", job="processing")
    head.hear(1000, state="idle", job="completed")
    record = head.mind.memory.record(at(1000))
    there = site()
    later = Mind(there, there.printers["kestrel"], Occurrences("later"), lambda _m, _c: None)
    later.memory.restore(record, at(5000))
    later.start(NOTHING_KNOWN, at(5000))
    assert later.facts["last-job"] == "completed"
    assert DONE.test(later.facts).name == "TRUE"


def test_a_prompt_is_judged_by_what_was_restored() -> None:
    """Unknown, it would hide every row below it that reassures, until the next job is over."""
    head = Head()
    head.hear(0, state="processing", job="processing")
    head.hear(1000, state="idle", job="canceled")
    there = site()
    later = Mind(there, there.printers["kestrel"], Occurrences("later"), lambda _m, _c: None)
    later.memory.restore(head.mind.memory.record(at(1000)), at(5000))
    later.start(NOTHING_KNOWN, at(5000))
    assert later.facts["prompt collect"] == "normal"


def test_a_vanished_job_is_seen_after_a_start_without_reasons_of_the_readers() -> None:
    """The bridge's own reasons hold, whatever else may."""
    head = Head()
    head.hear(0, state="processing", progress=0.63)
    head.hear_all(1000, {"link": "down", "state": LOST, "reasons": LOST})
    record = head.mind.memory.record(at(1000))
    there = site()
    later = Mind(there, there.printers["kestrel"], Occurrences("later"), lambda _m, _c: None)
    later.memory.restore(record, at(5000))
    facts: Facts = {"link": "down", "stale": True, "state": Unknown(Why.LINK_NOT_UP)}
    later.start(facts, at(5000))
    assert later.facts["alarm vanished"] == "unacknowledged"


def test_the_picture_has_the_memory_the_alarms_and_the_time() -> None:
    """In seconds; the reasons with the bridge's own."""
    head = Head()
    head.hear(1000, state="stopped")
    picture = head.mind.picture(head.facts, at(3000))
    assert picture["time-in-state"] == 2.0
    assert picture["alarm halted"] == "unacknowledged"
    assert picture["state"] == "stopped"
    assert head.mind.picture(head.facts, at(3000)) == picture
