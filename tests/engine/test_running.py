"""A site that runs: starts, restarts, clocks, disks, and the same actions for the same events."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from typing import Any, get_args

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from bridge.engine.actions import Publish, Record, Tell
from bridge.engine.events import Clock, Due, Heard, NotRecorded, SourceUp, Stopping
from bridge.engine.keeping import AGAIN_AFTER_MS
from bridge.engine.records import HoldRecord, key_of
from bridge.engine.site import Button, Site
from bridge.engine.wishes import Acknowledge, Collected, Hold, Press, Release, Reset, Shelve
from bridge.facts.values import Unknown
from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.alarm_records import AlarmRecord
from bridge.rules.alarm_states import State
from bridge.rules.table import UNSEEN
from tests.engine.evening import (
    ALARMS,
    DONE,
    ESCALATES_MS,
    HOUR_MS,
    IDLE,
    OFF_MS,
    ON_MS,
    PROMPTS,
    ROWS,
    SHED,
    SIX_PM,
    STOPPED,
    Disk,
    Evening,
    carrying,
    has,
    night,
    row,
    sharing,
    site,
)

# A start -----------------------------------------------------------------------------------------


def test_a_start_and_its_end_are_in_history() -> None:
    """The first line and the last."""
    evening = Evening().begin()
    evening.run_for(1000)
    evening.feed(Stopping())
    lines = [a.what for _, a in evening.actions if isinstance(a, Record)]
    assert [(line.what, line.wall_ms) for line in evening.history("start")] == [
        ("started", SIX_PM),
        ("stopped", SIX_PM + 1000),
    ]
    assert lines[0] == evening.history("start")[0]


def test_where_nothing_was_restored_nothing_is_recorded() -> None:
    """There is no disk: not one record, whatever happens."""
    evening = Evening(disk="off").begin().say(doing="stuck")
    evening.wish(Acknowledge(evening.occurrence()))
    evening.wish(Hold(("s3",), "dim", None))
    evening.run_for(1000)
    assert [a for _, a in evening.actions if isinstance(a, Record)] == []
    assert (evening.effect(), evening.segment("s3").scene) == ("steady", "dim")


def test_records_are_numbered_without_a_gap() -> None:
    """From 1 on, in the order in which they are given."""
    evening = Evening().begin().say(doing="stuck", snag="spool")
    evening.run_for(HOUR_MS)
    numbers = [a.number for _, a in evening.actions if isinstance(a, Record)]
    assert numbers == list(range(1, len(numbers) + 1))


# The power goes off and comes back ---------------------------------------------------------------


def brought_to(state: State) -> Evening:
    """Kestrel's ``material-out`` (sequence R) there, all of it kept."""
    evening = Evening().begin().say(snag="spool")
    evening.run_for(ON_MS if state is not State.NORMAL else 10)
    if state in {State.ACKNOWLEDGED, State.LATCHED}:
        evening.wish(Acknowledge(evening.occurrence("material-out")))
        evening.run_for(100)
    if state in {State.RETURNED, State.LATCHED}:
        evening.say().run_for(OFF_MS)
    evening.run_for(100)
    assert evening.alarm("material-out").state == state.value
    return evening


@pytest.mark.parametrize("state", list(State))
def test_every_state_of_an_alarm_is_there_again_after_a_power_cut(state: State) -> None:
    """The same occurrence, shown from the first instant, raised when it was raised."""
    before = brought_to(state)
    after = before.again(after_ms=HOUR_MS)
    was, now = before.alarm("material-out"), after.alarm("material-out")
    assert (now.state, now.occurrence) == (was.state, was.occurrence)
    if state is not State.NORMAL:
        assert after.segment().rule == "out of material"
        assert after.segment().look == before.segment().look
        assert now.since_wall_ms == was.since_wall_ms
        assert now.unconfirmed


def test_a_restored_occurrence_can_be_acknowledged_by_its_name() -> None:
    """And a new one of the new start has another name."""
    first = Evening().begin().say(doing="stuck")
    first.run_for(100)
    occurrence = first.occurrence()
    second = first.again()
    second.say(doing="stuck")
    told = second.answer(second.wish(Acknowledge(occurrence)))
    second.run_for(100)
    assert told is None
    assert second.alarm().shown == "acknowledged"
    second.say().say(doing="stuck")
    assert second.occurrence() not in {occurrence, None}
    late = second.answer(second.wish(Acknowledge(occurrence)))
    assert late is not None
    assert not late.taken
    assert second.effect() == "flash"


def test_a_raise_that_was_not_kept_is_judged_again_from_the_facts() -> None:
    """Nothing was on disk; the printer still says so."""
    first = Evening(disk="silent").begin().say(doing="stuck")
    second = first.again()
    assert second.alarm().shown == "unknown"
    second.say(doing="stuck")
    assert second.alarm().shown == "unacknowledged"


def test_what_was_answered_as_taken_is_never_lost() -> None:
    """At whatever instant the power goes: an answer of kept is on the disk (I4)."""
    for cut_ms in range(0, 60, 5):
        first = Evening().begin().say(doing="stuck")
        first.run_for(1000)
        token = first.wish(Acknowledge(first.occurrence()))
        first.run_for(cut_ms)
        told = first.answer(token)
        second = first.again()
        second.say(doing="stuck")
        shown = second.alarm().shown
        if told is not None:
            assert (told.kept, shown) == (True, "acknowledged")
        if first.effect() == "steady":
            assert shown == "acknowledged"


def test_an_acknowledged_alarm_that_went_unseen_is_a_new_occurrence() -> None:
    """It may have returned and come again while the bridge was down."""
    first = Evening().begin().say(doing="stuck")
    first.wish(Acknowledge(first.occurrence()))
    first.run_for(100)
    second = first.again(after_ms=HOUR_MS)
    second.say(doing="stuck")
    assert second.alarm().shown == "unacknowledged"
    assert second.occurrence() != first.occurrence()


def test_an_escalation_that_became_due_meanwhile_happens_at_once() -> None:
    """And one that happened before does not happen again."""
    first = Evening().begin().say(doing="stuck")
    first.run_for(1000)
    second = first.again(after_ms=ESCALATES_MS)
    second.run_for(0)
    assert [at for at, _ in second.published()] == [0]
    assert second.segment("s3").scene == "see-me"
    second.run_for(100)
    third = second.again(after_ms=1000)
    third.say(doing="stuck").run_for(HOUR_MS)
    assert third.published() == []
    assert third.segment("s3").scene == "see-me"


def test_a_prompt_is_there_again_and_so_is_what_ends_it() -> None:
    """Collected after the start; the cause that goes on does not raise it a second time."""
    first = Evening().begin().say(doing="at it", outcome="under way")
    first.run_for(1000)
    first.say(outcome="whole").run_for(100)
    second = first.again(after_ms=HOUR_MS)
    assert second.prompt().occurrence == first.prompt().occurrence
    second.say(outcome="whole")
    assert second.segment().rule == "part to collect"
    second.wish(Collected(second.prompt().occurrence or ""))
    second.run_for(100)
    third = second.again(after_ms=1000)
    third.say(outcome="whole")
    assert (third.prompt().waiting, third.segment().rule) == (False, "idle")


def test_a_job_that_vanished_while_the_bridge_was_down_says_so_in_the_morning() -> None:
    """With the progress that it had, and since when."""
    first = Evening().begin().say(doing="at it", share=0.63, title="hull")
    first.run_for(2000)
    second = first.again(after_ms=9 * HOUR_MS)
    second.say()
    second.run_for(10_100)
    (line,) = second.history("job")
    assert (line.what, line.name, line.progress) == ("vanished", "hull", 0.63)
    assert second.segment().rule == "vanished"
    third = second.again(after_ms=HOUR_MS)
    third.say()
    assert third.segment().rule == "vanished"
    third.say(doing="at it", share=0.01)
    assert third.alarm("vanished").shown == "returned"


def test_time_in_state_goes_on_over_a_start() -> None:
    """As the wall clock counts it."""
    first = Evening().begin().say()
    first.run_for(60_000)
    second = first.again(after_ms=HOUR_MS)
    second.say()
    assert second.core.view().printers["kestrel"].facts["time-in-state"] == 3660.0


def test_an_edit_of_what_raises_it_closes_what_stood_at_the_next_start() -> None:
    """Alarm and prompt; what is so now is a new occurrence."""
    first = Evening().begin().say(doing="at it", outcome="under way")
    first.run_for(1000)
    first.say(outcome="whole", doing="stuck").run_for(100)
    was = first.occurrence()
    halted = replace(ALARMS["halted"], when=(STOPPED, has("door-open")))
    collect = replace(PROMPTS["collect"], when=(DONE, IDLE))
    first.site = replace(site(), alarms={**ALARMS, "halted": halted}, prompts={"collect": collect})
    second = first.again()
    assert (second.alarm().occurrence, second.prompt().waiting) == (None, False)
    closed = [*second.history("alarm"), *second.history("prompt")]
    assert [(line.name, line.what, line.cause) for line in closed] == [
        ("halted", "withdrawn by edit", "what raises it was edited"),
        ("collect", "withdrawn by edit", "what raises it was edited"),
    ]
    second.say(doing="stuck", snag="door")
    assert second.occurrence() != was


def test_a_delay_goes_on_from_the_start_and_not_over_it() -> None:
    """What was not raised yet is judged from what is heard now."""
    first = Evening().begin().say(snag="spool")
    first.run_for(ON_MS - 1)
    second = first.again()
    second.say(snag="spool")
    second.run_for(ON_MS - 1)
    assert second.alarm("material-out").shown == "normal"
    second.run_for(1)
    assert second.alarm("material-out").shown == "unacknowledged"


# Holds and shelves over a start ------------------------------------------------------------------


def test_a_hold_is_there_again_and_ends_at_its_time() -> None:
    """By the wall clock: the time that the bridge was down counts."""
    first = Evening().begin().say()
    first.wish(Hold(("s1", "s3"), "dim", 2 * HOUR_MS), "bob")
    first.run_for(100)
    second = first.again(after_ms=HOUR_MS)
    assert (second.segment().scene, second.segment("s3").scene) == ("dim", "dim")
    assert {each.who for each in second.core.view().holds} == {"bob"}
    second.run_for(HOUR_MS - 101)
    assert second.segment("s3").scene == "dim"
    second.run_for(1)
    assert second.segment("s3").scene == "warm"


def test_a_hold_that_ended_meanwhile_does_not_show_for_an_instant() -> None:
    """Not in history, not in the log, and its record is taken back."""
    first = Evening().begin()
    first.wish(Hold(("s1", "s3"), "dim", HOUR_MS))
    first.run_for(100)
    second = first.again(after_ms=2 * HOUR_MS)
    second.run_for(1000)
    assert "dim" not in {*second.scenes("s1"), *second.scenes("s3")}
    assert second.kept["hold", "s3", ""] == HoldRecord("s3", None, None, "")


@pytest.mark.parametrize(("later_ms", "scene"), [(HOUR_MS, "dim"), (3 * HOUR_MS, "warm")])
def test_a_restored_hold_does_not_act_before_the_wall_clock_is_known(
    later_ms: int, scene: str
) -> None:
    """Then it shows, or is over and does not show for an instant."""
    first = Evening().begin()
    first.wish(Hold(("s3",), "dim", 2 * HOUR_MS))
    first.run_for(100)
    second = first.again(is_clock_known=False)
    second.run_for(30_000)
    assert second.segment("s3").scene == "warm"
    second.set_clock(SIX_PM + later_ms)
    assert second.segment("s3").scene == scene
    assert second.scenes("s3") == (["dim"] if scene == "dim" else [])


def test_a_hold_without_an_end_acts_at_once() -> None:
    """It needs no clock."""
    first = Evening().begin()
    first.wish(Hold(("s3",), "see-me", None))
    first.run_for(100)
    second = first.again(is_clock_known=False)
    assert second.segment("s3").scene == "see-me"
    (line,) = second.history("segment", segment="s3")
    assert (line.what, line.cause) == ("see-me", "it is held")


def test_a_released_hold_stays_released() -> None:
    """Over a start."""
    first = Evening().begin()
    first.wish(Hold(("s3",), "dim", None))
    first.run_for(100)
    first.wish(Release(("s3",)))
    first.run_for(100)
    assert first.again().core.view().holds == ()


def test_a_hold_that_the_site_no_longer_allows_is_told_and_taken_back() -> None:
    """Once, and at the next start there is nothing to tell."""
    first = Evening().begin()
    first.wish(Hold(("s3",), "dim", None))
    first.run_for(100)
    there = site()
    s3 = replace(there.segments["s3"], printers=("kestrel",), table="wall")
    first.site = replace(there, segments={**there.segments, "s3": s3})
    second = first.again()
    (fields,) = second.notes("a hold of before is not taken up")
    assert fields["segment"] == "s3"
    second.run_for(100)
    assert second.again().notes("a hold of before is not taken up") == []


def test_a_restored_shelf_does_not_act_before_the_wall_clock_is_known() -> None:
    """More careful meanwhile; then it hides until its time."""
    first = Evening().begin().say(doing="stuck")
    first.wish(Shelve("halted", "kestrel", 2 * HOUR_MS, "waiting for a part"))
    first.run_for(100)
    second = first.again(is_clock_known=False)
    second.say(doing="stuck")
    assert second.segment().rule == "halted"
    second.set_clock(SIX_PM + HOUR_MS)
    assert second.alarm().shown == "shelved"
    assert second.segment().rule != "halted"
    second.set_clock(SIX_PM + 2 * HOUR_MS)
    assert second.segment().rule == "halted"


# Buttons -----------------------------------------------------------------------------------------


def with_button(**rest: object) -> Evening:
    """A button beside the door, and both printers stuck."""
    button = Button("door", SHED, "alder/door", "acknowledge", "the door", **rest)  # type: ignore[arg-type]
    evening = Evening(site=replace(site(), buttons={"door": button})).begin()
    return evening.say(doing="stuck").say("plover", doing="stuck")


def test_a_button_acknowledges_what_stands_when_it_is_kept() -> None:
    """Everything, by who it is; a message that was stored presses nothing."""
    evening = with_button()
    evening.feed(Heard(SHED, "alder/door", b"down", retained=True))
    evening.run_for(100)
    assert evening.effect() == "flash"
    evening.feed(Heard(SHED, "alder/door", b"down"))
    assert evening.effect() == "flash"
    evening.run_for(100)
    assert (evening.effect("s1"), evening.effect("s2")) == ("steady", "steady")
    assert {line.who for line in evening.history("alarm", what="acknowledged")} == {"the door"}


def test_a_button_may_be_one_printers() -> None:
    """The other's alarm goes on flashing."""
    evening = with_button(printers=("plover",))
    evening.feed(Heard(SHED, "alder/door", b"down"))
    evening.run_for(100)
    assert (evening.effect("s1"), evening.effect("s2")) == ("flash", "steady")


def test_a_button_does_not_silence_what_came_after_it() -> None:
    """The same alarm, raised again while the disk still writes (I4)."""
    evening = with_button()
    evening.disk = "silent"
    evening.feed(Heard(SHED, "alder/door", b"down"))
    evening.run_for(1000)
    evening.say()
    evening.say(doing="stuck")
    evening.run_for(10_000)
    assert evening.effect() == "flash"


# The wall clock ----------------------------------------------------------------------------------

NIGHT = (row("night", "dim", IDLE, night(22, 6)), row("idle", "ready", IDLE))


def test_the_night_begins_and_ends_over_midnight_to_the_millisecond() -> None:
    """With nothing but the time passing, the printer saying the same."""
    evening = Evening(site=site(*NIGHT)).begin()
    evening.keep_saying(4 * HOUR_MS - 1)
    assert evening.segment().rule == "idle"
    evening.run_for(1)
    assert evening.segment().rule == "night"
    evening.keep_saying(8 * HOUR_MS - 1)
    assert evening.segment().rule == "night"
    evening.run_for(1)
    assert evening.segment().rule == "idle"


STEPS = [
    (SIX_PM + 5 * HOUR_MS, "night"),
    (SIX_PM + 4 * HOUR_MS, "night"),
    (SIX_PM + 4 * HOUR_MS - 1, "idle"),
    (SIX_PM - 12 * HOUR_MS - 1, "night"),
    (SIX_PM - 12 * HOUR_MS, "idle"),
    (SIX_PM + 30 * HOUR_MS, "night"),
    # Not knowing the time, the row above cannot be judged; it is nobody's to hold comfort back.
    (None, "idle"),
]


@pytest.mark.parametrize(("wall_ms", "rule"), STEPS)
def test_a_step_of_the_clock_is_followed_at_once(wall_ms: int | None, rule: str) -> None:
    """Forwards, backwards, over midnight and to unknown; and back again."""
    evening = Evening(site=site(*NIGHT)).begin().say()
    assert evening.segment().rule == "idle"
    evening.set_clock(wall_ms)
    assert evening.segment().rule == rule
    evening.set_clock(SIX_PM + 1)
    assert evening.segment().rule == "idle"


@pytest.mark.parametrize("step_ms", [-HOUR_MS, HOUR_MS])
def test_after_a_step_of_an_hour_the_night_begins_by_the_new_clock(step_ms: int) -> None:
    """An hour later or sooner than it would have."""
    evening = Evening(site=site(*NIGHT)).begin().say()
    evening.set_clock(SIX_PM + step_ms)
    evening.keep_saying(4 * HOUR_MS - step_ms - 1)
    assert evening.segment().rule == "idle"
    evening.run_for(1)
    assert evening.segment().rule == "night"


def test_what_was_raised_before_the_clock_was_known_is_told_when_after_a_start() -> None:
    """A machine starts without a clock: once it has one, what stands is recorded with its time."""
    first = Evening(wall_ms=None).begin().say(doing="stuck")
    first.run_for(1000)
    first.set_clock(SIX_PM)
    first.run_for(100)
    second = first.again(after_ms=0)
    assert second.alarm().since_wall_ms == SIX_PM - 1000
    second.run_for(ESCALATES_MS)
    assert [at for at, _ in second.published()] == [ESCALATES_MS - 1100]


@pytest.mark.parametrize(("before", "after"), [(False, True), (True, False), (False, False)])
def test_without_a_clock_before_or_after_a_start_it_escalates_all_the_same(
    before: bool, after: bool
) -> None:
    """Where nobody knows how long it has stood, it is at least since the start."""
    first = Evening(wall_ms=SIX_PM if before else None).begin().say(doing="stuck")
    first.run_for(100)
    second = Evening(wall_ms=SIX_PM + HOUR_MS if after else None, seed="again")
    second.begin(restored=first.kept.values())
    second.keep_saying(2 * ESCALATES_MS, doing="stuck")
    assert [at for at, _ in second.published()] == [ESCALATES_MS]


@pytest.mark.parametrize("wall_ms", [None, SIX_PM - HOUR_MS, SIX_PM + HOUR_MS])
def test_what_was_due_before_a_step_of_the_clock_has_the_time_of_then(wall_ms: int | None) -> None:
    """Though the news of the step is what wakes the core."""
    evening = Evening().begin().say(snag="spool")
    evening.now_ms = 20_000
    evening.set_clock(wall_ms)
    (line,) = evening.history("alarm")
    assert line.wall_ms == SIX_PM + ON_MS


def test_since_when_a_prompt_waits_is_known_with_the_wall_clock() -> None:
    """Over a start without one."""
    first = Evening().begin().say(doing="at it", outcome="under way")
    first.run_for(1000)
    first.say(outcome="whole").run_for(1000)
    second = first.again(is_clock_known=False)
    assert (second.prompt().waiting, second.prompt().since_ms) == (True, None)
    second.set_clock(SIX_PM + HOUR_MS)
    assert second.prompt().since_ms == 1000 - HOUR_MS


def test_a_step_of_the_clock_moves_no_delay() -> None:
    """They are timed by the monotonic one."""
    evening = Evening().begin().say(snag="spool")
    evening.run_for(ON_MS - 1000)
    evening.set_clock(SIX_PM - HOUR_MS)
    evening.set_clock(None)
    evening.run_for(999)
    assert evening.alarm("material-out").shown == "normal"
    evening.run_for(1)
    assert evening.alarm("material-out").shown == "unacknowledged"
    assert evening.alarm("material-out").since_wall_ms is None


def test_a_hold_put_past_its_end_by_the_clock_is_over_now() -> None:
    """History has no line from before."""
    evening = Evening().begin()
    evening.wish(Hold(("s3",), "dim", HOUR_MS))
    evening.run_for(1000)
    evening.set_clock(SIX_PM + 3 * HOUR_MS)
    assert evening.segment("s3").scene == "warm"
    assert evening.segment("s3").since_ms == 1000
    evening.run_for(100)
    assert evening.kept["hold", "s3", ""] == HoldRecord("s3", None, None, "")


# A disk that fails -------------------------------------------------------------------------------


def test_when_writing_works_again_everything_that_is_not_normal_is_recorded_anew() -> None:
    """Alarms, prompts, shelves, holds and memories: after that a power cut loses nothing."""
    evening = Evening(disk="refuses").begin()
    evening.say(doing="at it", outcome="under way").run_for(1000)
    evening.say(outcome="whole", doing="stuck", snag="spool")
    evening.run_for(ON_MS)
    evening.wish(Acknowledge(evening.occurrence()))
    evening.wish(Shelve("material-out", "kestrel", HOUR_MS, "no spool"))
    evening.wish(Hold(("s3",), "dim", None))
    evening.run_for(1000)
    assert evening.kept == {}
    evening.disk = "keeps"
    evening.run_for(AGAIN_AFTER_MS + 100)
    assert {
        ("alarm", "halted", "kestrel"),
        ("alarm", "material-out", "kestrel"),
        ("prompt", "collect", "kestrel"),
        ("hold", "s3", ""),
        ("memory", "kestrel", ""),
    } <= evening.kept.keys()
    after = evening.again()
    assert after.alarm().shown == "acknowledged"
    assert after.alarm("material-out").shown == "shelved"
    assert after.prompt().waiting
    assert after.segment("s3").scene == "dim"


def test_what_became_normal_while_nothing_was_kept_is_not_there_again() -> None:
    """The disk had it as unacknowledged; what is written first afterwards takes that back."""
    evening = Evening().begin().say(doing="stuck")
    evening.wish(Hold(("s3",), "dim", None))
    evening.run_for(100)
    evening.disk = "refuses"
    evening.wish(Acknowledge(evening.occurrence()))
    evening.wish(Release(("s3",)))
    evening.run_for(100)
    evening.say().run_for(100)
    assert evening.alarm().shown == "normal"
    evening.disk = "keeps"
    evening.run_for(AGAIN_AFTER_MS + 100)
    after = evening.again()
    assert after.alarm().state == "normal"
    assert after.segment("s3").scene == "warm"


def test_a_failing_disk_changes_no_light() -> None:
    """The same facts, the same looks at the same instants."""
    looks = []
    for disk in get_args(Disk):
        evening = Evening(disk=disk).begin()
        seen = []
        for doing in ("at it", "stuck", "aside", "at it"):
            evening.say(doing=doing, snag="spool")
            evening.run_for(3000)
            seen.append((evening.segment().rule, evening.segment().look))
        looks.append(seen)
    assert looks[1:] == looks[:1] * 3


# The same events, the same actions ---------------------------------------------------------------


def a_long_evening() -> str:
    """Everything at once; what came of it, as one line."""
    there = sharing("rotate")
    there = replace(
        there, alarms={**ALARMS, "halted": replace(ALARMS["halted"], segments=("all",))}
    )
    evening = Evening(site=there).begin()
    for turn in range(6):
        evening.say(doing="at it", outcome="under way", share=turn / 10, title=f"hull {turn}")
        evening.say("plover", snag="spool" if turn % 2 else "gremlin").run_for(7000)
        evening.say(doing="stuck", snag="door").run_for(2000)
        evening.wish(Acknowledge(evening.occurrence()))
        evening.wish(Hold(("all",), "dim", 20_000))
        evening.run_for(40_000)
        evening.say(outcome="whole").set_clock(SIX_PM + turn * HOUR_MS)
        evening.lose().run_for(1000)
        evening.disk = "refuses" if turn % 2 else "keeps"
    again = evening.again(after_ms=HOUR_MS)
    again.say(doing="stuck").run_for(HOUR_MS)
    again.wish(Reset("nothing"))
    actions = [repr(action) for each in (evening, again) for action in each.actions]
    return hashlib.sha256("\n".join(actions).encode()).hexdigest()


def test_the_same_events_give_the_same_actions_in_any_process() -> None:
    """Byte for byte, whatever the seed of Python's hashes (I10)."""
    program = "from tests.engine.test_running import a_long_evening; print(a_long_evening())"
    told = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("0", "1", "4242")
    }
    assert told == {a_long_evening() + "\n"}


DOINGS = ("at it", "aside", "stuck", "adrift")
steps = st.lists(
    st.tuples(
        st.one_of(st.integers(0, 12_000), st.sampled_from([ON_MS, OFF_MS, ESCALATES_MS, 70_000])),
        st.sampled_from(["kestrel", "plover", "press", "hold", "shelve", "clock", "lose", "up"]),
        st.tuples(
            st.sampled_from(DOINGS),
            st.sampled_from(["", "spool", "gremlin"]),
            st.sampled_from(["under way", "whole", None]),
            st.sampled_from([0.1, 0.9, None]),
            st.sampled_from([-HOUR_MS, 0, HOUR_MS, 4 * HOUR_MS, None]),
        ),
    ),
    max_size=14,
)
SITES = {
    "night": site(row("night", "dim", IDLE, night(22, 6), lasting_ms=20_000), *ROWS),
    "rotate": sharing("rotate"),
    "split": sharing("split"),
    "carried": carrying("all"),
}


QUICK = settings(max_examples=25, deadline=None, phases=(Phase.explicit, Phase.generate))


def take(evening: Evening, what: str, how: tuple[Any, ...]) -> None:
    """One step of a made-up evening."""
    doing, snag, outcome, share, step_ms = how
    match what:
        case "kestrel" | "plover":
            facts = {"snag": snag, "outcome": outcome, "share": share}
            known = {name: value for name, value in facts.items() if value is not None}
            evening.say(what, doing=doing, **known)
        case "press":
            for wish in ("acknowledge", "reset", "collected"):
                evening.wish(Press(wish))
        case "hold":
            evening.wish(Hold(("s1", "s4", "s5"), "dim", 15_000 if share is None else 40_000))
        case "shelve":
            evening.wish(Shelve("halted", "kestrel", 2000 if share is None else 30_000, "why not"))
        case "clock":
            wall_ms = None if step_ms is None else SIX_PM + evening.now_ms + step_ms
            evening.set_clock(wall_ms)
        case "lose":
            evening.lose()
        case "up":
            evening.feed(SourceUp(SHED))


def lived(there: Site, disk: Disk, story: list[Any], *, wakes: bool) -> list[str]:
    """All that is known, told and kept of a made-up evening, but for what depends on sending."""
    evening = Evening(site=there, disk=disk).begin()
    for wait_ms, what, how in [*story, (200_000, "kestrel", ("at it", "", None, None, None))]:
        end_ms = evening.now_ms + wait_ms
        due_ms = evening.core.deadline()
        while wakes and due_ms is not None and due_ms < end_ms:
            evening.now_ms = max(due_ms, evening.now_ms)
            evening.feed(Due())
            due_ms = evening.core.deadline()
        evening.now_ms = end_ms
        take(evening, what, how)
    picture = evening.core.view()
    told = [repr(a) for _, a in evening.actions if isinstance(a, Record | Tell | Publish)]
    seen = {
        name: (each.scene, each.rule, each.printer, each.because, each.look, each.since_ms)
        for name, each in picture.segments.items()
    }
    return [*told, repr(seen), repr(picture.alarms), repr(picture.prompts), repr(picture.holds)]


@QUICK
@given(st.sampled_from(sorted(SITES)), st.sampled_from(["off", "silent"]), steps)
def test_nothing_depends_on_how_late_a_timer_fires(name: str, disk: Disk, story: list[Any]) -> None:
    """Woken at every deadline or by the next event only: every record, answer and look the same.

    Alarms, prompts, holds, turns, shelves, a disk that never answers, and a clock that is stepped.
    """
    soon, late = (lived(SITES[name], disk, story, wakes=wakes) for wakes in (True, False))
    assert soon == late


def told_as_kept(evening: Evening) -> set[str]:
    """The tokens of the wishes that were answered as kept."""
    return {a.token for _, a in evening.actions if isinstance(a, Tell) and a.taken and a.kept}


@QUICK
@given(st.sampled_from(sorted(SITES)), steps, st.integers(0, 60))
def test_a_power_cut_at_any_instant_loses_nothing_that_was_seen(
    name: str, story: list[Any], cut_ms: int
) -> None:
    """What a lamp shows by a wish, and what was answered as kept, is there again (I4)."""
    evening = Evening(site=SITES[name]).begin()
    for wait_ms, what, how in story:
        evening.run_for(wait_ms)
        take(evening, what, how)
    seen = {a.occurrence for a in evening.core.view().alarms if a.shown in UNSEEN}
    token = evening.wish(Press("acknowledge"))
    evening.run_for(cut_ms)
    before, after = evening.core.view(), evening.again().core.view()
    there = {(a.alarm, a.printer): a for a in after.alarms}
    for was in before.alarms:
        now = there[was.alarm, was.printer]
        if was.shown in {"acknowledged", "latched", "out-of-service"}:
            assert (now.shown, now.occurrence) == (was.shown, was.occurrence)
        if was.shown == "shelved" and evening.wall_ms is not None:
            assert now.shown == "shelved"
        if token in told_as_kept(evening) and now.shown in UNSEEN:
            assert now.occurrence not in seen
    held = {each.segment: each.scene for each in after.holds}
    for segment, was_shown in before.segments.items():
        if was_shown.because == "it is held":
            assert held[segment] == was_shown.scene


@QUICK
@given(st.sampled_from(["night", "worst"]), steps)
def test_what_comes_before_what_holds_at_every_instant(name: str, story: list[Any]) -> None:
    """An unseen alarm, a hold, the table; and no comfort from what is not known (I1)."""
    there = SITES.get(name) or site()
    evening = Evening(site=there).begin()
    for wait_ms, what, how in story:
        evening.run_for(wait_ms)
        take(evening, what, how)
        picture = evening.core.view()
        for segment, shown in picture.segments.items():
            alarms = [a for a in picture.alarms if a.printer in shown.printers]
            unseen = [a for a in alarms if a.shown in UNSEEN]
            holds = evening.core.view().holds
            if unseen:
                assert shown.scene in {"see-me", "feed-me"}
                assert evening.effect(segment) == "flash"
                assert shown.printer in {a.printer for a in unseen}
            elif shown.because == "it is held":
                assert (segment, shown.scene) in {(each.segment, each.scene) for each in holds}
            elif shown.printers:
                facts = picture.printers[shown.printer].facts
                says = there.scenes[shown.scene].says
                is_known = not isinstance(facts["state"], Unknown) and facts["stale"] is False
                assert is_known or says not in COMFORTABLE
                if any(a.shown == "unknown" for a in alarms):
                    assert says not in COMFORTABLE


def test_a_clock_event_with_the_same_clock_changes_nothing() -> None:
    """However often it comes."""
    evening = Evening(site=site(*NIGHT)).begin().say(doing="stuck", snag="spool")
    evening.wish(Hold(("s3",), "dim", HOUR_MS))
    evening.run_for(2000)
    deadline = evening.core.deadline()
    assert evening.feed(Clock()) == []
    assert evening.feed(Due()) == []
    assert evening.core.deadline() == deadline


def test_an_answer_of_a_disk_to_nothing_is_no_error() -> None:
    """A number that was never given."""
    evening = Evening().begin()
    evening.feed(NotRecorded(9999, "odd"))
    evening.run_for(AGAIN_AFTER_MS)
    assert evening.segment().rule == "silent"


def test_every_alarm_record_that_is_kept_can_be_told_by_its_key() -> None:
    """A later state of the same alarm takes the place of the one before."""
    evening = brought_to(State.LATCHED)
    kept = [each for each in evening.kept.values() if isinstance(each, AlarmRecord)]
    assert [(key_of(each)[1], each.state) for each in kept] == [("material-out", State.LATCHED)]
