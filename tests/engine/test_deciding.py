"""What each segment shows: alarms before holds before tables, shares and turns, and the telling."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from bridge.engine.events import SourceUp
from bridge.engine.wishes import Acknowledge, Hold, Press, Shelve
from bridge.facts.reader import Interval
from bridge.lights.desire import Kept
from bridge.lights.look import Moving, Native, Still
from bridge.rules.alarm import Escalation
from bridge.rules.conditions import NumberIn
from bridge.rules.sharing import LEAST_MS, MARK_MS
from bridge.rules.table import alarm_stands
from tests.engine.evening import (
    ALARMS,
    ESCALATES_MS,
    HOUR_MS,
    IDLE,
    LENGTH,
    LOFT,
    OFF_MS,
    ON_MS,
    ROWS,
    SHED,
    STOPPED,
    WORKING,
    Evening,
    carrying,
    row,
    sharing,
    site,
)

DWELL_MS = 5000
TURN_MS = MARK_MS + DWELL_MS


def acknowledge(evening: Evening, name: str = "halted", printer: str = "kestrel") -> None:
    """Seen, and kept so."""
    evening.wish(Acknowledge(evening.occurrence(name, printer)))
    evening.run_for(100)


# Alarms before all -------------------------------------------------------------------------------


def test_a_new_alarm_cuts_in_over_an_acknowledged_one_above_it() -> None:
    """The milder row, lower in the table, because nobody has seen it yet (reflash)."""
    evening = Evening().begin().say(doing="stuck")
    acknowledge(evening)
    evening.keep_saying(ON_MS - 1, doing="stuck", snag="spool")
    assert (evening.segment().rule, evening.effect()) == ("halted", "steady")
    evening.run_for(1)
    assert (evening.segment().rule, evening.effect()) == ("out of material", "flash")
    acknowledge(evening, "material-out")
    assert (evening.segment().rule, evening.effect()) == ("halted", "steady")


def test_a_second_printers_new_warning_is_seen_over_the_firsts_acknowledged_fault() -> None:
    """On the segment that both share."""
    evening = Evening().begin().say(doing="stuck").say("plover")
    acknowledge(evening)
    assert (evening.segment("s4").scene, evening.segment("s4").printer) == ("see-me", "kestrel")
    evening.say("plover", snag="spool")
    evening.run_for(ON_MS)
    shown = evening.segment("s4")
    assert (shown.scene, shown.printer, evening.effect("s4")) == ("feed-me", "plover", "flash")


@pytest.mark.parametrize("segment", ["s1", "s4"])
def test_a_new_alarm_cuts_in_over_a_hold_and_an_acknowledged_one_does_not(segment: str) -> None:
    """The hold waits beneath it, and ends where it would have."""
    evening = Evening().begin().say().say("plover")
    evening.wish(Hold((segment,), "dim", HOUR_MS))
    evening.run_for(100)
    assert evening.segment(segment).scene == "dim"
    evening.say(doing="stuck")
    assert evening.segment(segment).scene == "see-me"
    acknowledge(evening)
    assert evening.segment(segment).scene == "dim"
    evening.say()
    assert evening.segment(segment).scene == "dim"


def test_a_returned_alarm_that_nobody_saw_still_cuts_in_over_a_hold() -> None:
    """It flashes until somebody comes."""
    evening = Evening().begin().say(doing="stuck").say()
    evening.wish(Hold(("s1",), "dim", HOUR_MS))
    evening.run_for(100)
    assert (evening.alarm().shown, evening.segment().scene) == ("returned", "see-me")


CARRIERS = [("s3",), ("shelf",), ("s3", "s5"), ("all",)]


@pytest.mark.parametrize("names", CARRIERS)
def test_a_segment_that_carries_an_alarm_shows_it_over_its_hold(names: tuple[str, ...]) -> None:
    """By its own name or by a set's; acknowledged, the hold comes before it again."""
    evening = Evening(site=carrying(*names)).begin().say()
    evening.wish(Hold(("s3",), "dim", None))
    evening.run_for(100)
    assert evening.segment("s3").scene == "dim"
    evening.say(doing="stuck")
    shown = evening.segment("s3")
    assert (shown.scene, shown.printer, evening.effect("s3")) == ("see-me", "kestrel", "flash")
    assert shown.because == "it carries the alarm halted of kestrel"
    acknowledge(evening)
    assert evening.segment("s3").scene == "dim"


def test_a_carried_alarm_that_is_acknowledged_shows_steady_until_it_returns() -> None:
    """Where there is nothing else to show; then the resting scene."""
    evening = Evening(site=carrying("s3")).begin().say(doing="stuck")
    acknowledge(evening)
    assert (evening.segment("s3").scene, evening.effect("s3")) == ("see-me", "steady")
    evening.say()
    assert evening.segment("s3").scene == "warm"


def test_a_carried_alarm_does_not_hide_another_printers_table_once_it_was_seen() -> None:
    """Plover's own segment carries kestrel's alarm only while nobody has."""
    evening = Evening(site=carrying("s2")).begin().say("plover").say(doing="stuck")
    assert (evening.segment("s2").scene, evening.segment("s2").printer) == ("see-me", "kestrel")
    acknowledge(evening)
    assert (evening.segment("s2").rule, evening.segment("s2").printer) == ("idle", "plover")


def test_of_two_carried_alarms_the_gravest_shows_then_the_oldest() -> None:
    """And the other once that one is seen."""
    there = carrying("s3")
    spool = replace(ALARMS["material-out"], segments=("s3",), show="feed-me")
    there = replace(there, alarms={**there.alarms, "material-out": spool})
    evening = Evening(site=there).begin().say(snag="spool")
    evening.run_for(ON_MS)
    assert evening.segment("s3").scene == "feed-me"
    evening.say("plover", doing="stuck").run_for(10)
    evening.say(doing="stuck", snag="spool")
    assert (evening.segment("s3").scene, evening.segment("s3").printer) == ("see-me", "plover")
    acknowledge(evening, printer="plover")
    assert (evening.segment("s3").scene, evening.segment("s3").printer) == ("see-me", "kestrel")
    acknowledge(evening)
    assert evening.segment("s3").scene == "feed-me"


def test_a_shelved_alarm_shows_nowhere() -> None:
    """Neither in its table nor on what carries it."""
    evening = Evening(site=carrying("s3")).begin().say(doing="stuck")
    evening.wish(Shelve("halted", "kestrel", HOUR_MS, "waiting for a part"))
    evening.run_for(100)
    assert evening.segment("s3").scene == "warm"
    assert evening.segment().rule != "halted"


def test_an_escalation_reaches_its_segments_and_its_broker_at_its_time() -> None:
    """To the millisecond, with nothing else happening; an acknowledgement takes it back."""
    evening = Evening().begin().say().say("plover")
    evening.run_for(1000)
    evening.say(doing="stuck")
    evening.run_for(ESCALATES_MS - 1)
    assert (evening.segment("s3").scene, evening.published()) == ("warm", [])
    evening.run_for(1)
    assert (evening.segment("s3").scene, evening.effect("s3")) == ("see-me", "flash")
    ((at_ms, message),) = evening.published()
    assert (at_ms, message.source, message.topic) == (31_000, LOFT, "alder/escalated")
    acknowledge(evening)
    assert evening.segment("s3").scene == "warm"
    evening.keep_saying(10 * ESCALATES_MS, doing="stuck")
    assert len(evening.published()) == 1


def test_an_escalation_over_segments_held_dark() -> None:
    """It is an unacknowledged alarm like any other."""
    evening = Evening().begin().say(doing="stuck")
    evening.wish(Hold(("s3",), "dim", None))
    evening.run_for(ESCALATES_MS)
    assert evening.segment("s3").scene == "see-me"


def test_an_escalation_to_a_set_of_segments_without_a_message() -> None:
    """Each of them."""
    there = site()
    quiet = replace(ALARMS["halted"], escalate=Escalation(ESCALATES_MS, ("shelf",)))
    evening = Evening(site=replace(there, alarms={**ALARMS, "halted": quiet})).begin()
    evening.say(doing="stuck").run_for(ESCALATES_MS)
    assert (evening.segment("s3").scene, evening.segment("s5").scene) == ("see-me", "see-me")
    assert evening.published() == []


# Not knowing -------------------------------------------------------------------------------------


def test_a_well_row_is_passed_over_while_an_alarm_above_it_is_unknown() -> None:
    """Its reader offers the reasons, and this message's word is not one that it knows."""
    evening = Evening().begin().say(doing="at it")
    assert evening.segment().rule == "working"
    evening.say(doing="at it", snag="gremlin")
    shown = evening.segment()
    assert (shown.rule, shown.scene) == ("otherwise", "not-known")
    why = dict(shown.passed_over)
    assert why["working"].startswith("would reassure")
    evening.say(doing="at it")
    assert evening.segment().rule == "working"


def test_an_alarm_that_stands_shows_on_while_nothing_is_known() -> None:
    """Marked as unconfirmed, and no comfort below it."""
    evening = Evening().begin().say(doing="stuck")
    evening.lose()
    assert (evening.segment().rule, evening.effect()) == ("halted", "flash")
    assert evening.alarm().unconfirmed


def test_a_row_that_must_last_shows_at_its_millisecond_and_not_after_a_break() -> None:
    """Ten minutes at rest; what works in between begins them anew, as does not knowing."""
    there = site(row("long idle", "dim", IDLE, lasting_ms=600_000), row("idle", "ready", IDLE))
    evening = Evening(site=there).begin()
    evening.keep_saying(599_999)
    assert evening.segment().rule == "idle"
    evening.run_for(1)
    assert evening.segment().rule == "long idle"
    evening.say(doing="at it").say()
    evening.keep_saying(599_999)
    assert evening.segment().rule == "idle"
    evening.lose().feed(SourceUp(SHED))
    evening.keep_saying(600_000)
    assert evening.segment().rule == "long idle"


def test_a_row_above_that_has_not_lasted_yet_holds_no_comfort_back() -> None:
    """It is known not to have; only not knowing does."""
    there = site(row("long stop", "see-me", STOPPED, lasting_ms=60_000), row("idle", "ready", IDLE))
    evening = Evening(site=there).begin().say()
    assert evening.segment().rule == "idle"
    evening.say(doing="adrift")
    assert evening.segment().scene == "not-known"


def test_too_long_in_a_state_shows_with_nothing_heard_but_the_same() -> None:
    """At the first millisecond that is more."""
    too_long = NumberIn("time-in-state", Interval(least=600, least_included=False), "above 600 s")
    there = site(row("forgotten", "fetch-me", IDLE, too_long), row("idle", "ready", IDLE))
    evening = Evening(site=there).begin()
    evening.keep_saying(600_000)
    assert evening.segment().rule == "idle"
    evening.run_for(1)
    assert evening.segment().rule == "forgotten"


# History -----------------------------------------------------------------------------------------


def test_each_change_of_what_shows_is_a_line_with_its_cause() -> None:
    """Scene, rule, printer, and the facts that decided; and no line for what stays."""
    evening = Evening().begin()
    evening.say(doing="at it", share=0.1)
    evening.say(doing="at it", share=0.2)
    evening.say(doing="stuck")
    acknowledge(evening)
    evening.say()
    lines = [
        (line.what, line.name, line.printer, line.cause)
        for line in evening.history("segment", segment="s1")
    ]
    assert lines == [
        ("not-known", "silent", "kestrel", "stale is true (true)"),
        ("filling", "working", "kestrel", "state is processing (processing)"),
        ("see-me", "halted", "kestrel", "alarm halted, not acknowledged (unacknowledged)"),
        ("see-me", "halted", "kestrel", "alarm halted (acknowledged)"),
        ("ready", "idle", "kestrel", "state is idle (idle)"),
    ]
    assert evening.history("segment", segment="s3") == []


def test_another_printer_with_the_same_scene_is_a_change() -> None:
    """The worst of two that both are in trouble is now the other one."""
    evening = Evening().begin().say(doing="stuck")
    evening.run_for(10)
    evening.say("plover", doing="stuck")
    assert evening.segment("s4").printer == "kestrel"
    before = len(evening.history("segment", segment="s4"))
    evening.say()
    assert evening.segment("s4").printer == "plover"
    assert [line.printer for line in evening.history("segment", segment="s4")[before:]] == [
        "plover"
    ]


def test_a_hold_and_its_end_are_lines() -> None:
    """Of the segment, with why."""
    evening = Evening().begin()
    evening.wish(Hold(("s3",), "dim", 1000))
    evening.run_for(2000)
    assert [(line.what, line.cause) for line in evening.history("segment", segment="s3")] == [
        ("dim", "it is held"),
        ("warm", "its resting scene"),
    ]


# Sharing -----------------------------------------------------------------------------------------


def test_worst_shows_the_lowest_row_and_otherwise_before_any_comfort() -> None:
    """A printer of which nothing is known does not hide behind one that is well."""
    evening = Evening().begin().say(doing="at it").say("plover", doing="adrift")
    assert (evening.segment("s4").printer, evening.segment("s4").scene) == ("plover", "not-known")
    evening.say("plover")
    assert (evening.segment("s4").printer, evening.segment("s4").scene) == ("kestrel", "filling")


def test_an_active_alarm_goes_before_a_returned_one_of_the_same_row() -> None:
    """Though it is newer."""
    evening = Evening().begin().say(doing="stuck")
    evening.run_for(1000)
    evening.say("plover", doing="stuck")
    assert evening.segment("s4").printer == "kestrel"
    evening.say()
    assert evening.segment("s4").printer == "plover"


def pixels(evening: Evening, segment: str = "s4") -> tuple[bytes, bytes]:
    """A painted segment's first and second half."""
    look = evening.segment(segment).look
    assert isinstance(look, Still | Moving)
    frame = look.frame if isinstance(look, Still) else look.frames[0]
    half = LENGTH // 2 * 3
    return frame[:half], frame[half:]


def test_split_gives_each_printer_its_share() -> None:
    """An alarm stays in its own; the other's goes on telling of the other."""
    evening = Evening(site=sharing("split")).begin().say().say("plover")
    calm = pixels(evening)
    evening.say(doing="stuck")
    alarmed = pixels(evening)
    assert (alarmed[0] == calm[0], alarmed[1] == calm[1]) == (False, True)
    acknowledge(evening)
    evening.say("plover", doing="at it", share=0.5)
    assert pixels(evening)[0] == alarmed[0]
    assert pixels(evening)[1] != calm[1]


def test_every_share_that_changes_is_told_of() -> None:
    """Not only that of the worst."""
    evening = Evening(site=sharing("split")).begin().say(doing="stuck").say("plover")
    before = len(evening.history("segment", segment="s4"))
    evening.say("plover", doing="at it")
    lines = evening.history("segment", segment="s4")[before:]
    assert [(line.printer, line.what, line.name) for line in lines] == [
        ("plover", "filling", "working")
    ]


def test_where_shares_are_too_small_the_worst_shows() -> None:
    """A printer that is left out would seem to be well."""
    there = sharing("split")
    s4 = there.segments["s4"]
    short = replace(s4, place=replace(s4.place, length=5))
    evening = Evening(site=replace(there, segments={**there.segments, "s4": short})).begin()
    evening.say("plover").say(doing="stuck")
    shown = evening.segment("s4")
    assert (shown.printer, shown.scene, shown.kept) == ("kestrel", "see-me", Kept.WHOLE)


def turns_of(evening: Evening, for_ms: int) -> list[tuple[int, str, object]]:
    """When what the segment shows changed, the printer it speaks of then, and the look."""
    seen: list[tuple[int, str, object]] = []
    end_ms = evening.now_ms + for_ms
    while True:
        shown = evening.segment("s4")
        if not seen or seen[-1][1:] != (shown.printer, shown.look):
            seen.append((evening.now_ms, shown.printer, shown.look))
        due_ms = evening.core.deadline()
        if due_ms is None or due_ms > end_ms:
            return seen
        evening.run_until(due_ms)


def test_rotate_gives_each_a_mark_and_its_time() -> None:
    """In the order of their names; nothing faster than somebody can take in."""
    evening = Evening(site=sharing("rotate")).begin().say().say("plover", doing="at it", share=0.5)
    evening.run_for(1)
    seen = turns_of(evening, 3 * TURN_MS)
    printers = [printer for _, printer, _ in seen]
    assert {"kestrel", "plover"} == set(printers)
    assert all(later - sooner >= LEAST_MS for (sooner, *_), (later, *_) in pairwise(seen[1:]))
    marks = {printer: look for _, printer, look in seen if _is_mark(look)}
    assert len({repr(look) for look in marks.values()}) == 2


def _is_mark(look: object) -> bool:
    """White blocks."""
    return isinstance(look, Still) and all(
        look.frame[at] == look.frame[at + 1] == look.frame[at + 2]
        for at in range(0, len(look.frame), 3)
    )


def test_turns_are_no_news() -> None:
    """An hour of them leaves no line; a printer that changes leaves one, in whose turn ever."""
    evening = Evening(site=sharing("rotate")).begin().say().say("plover", doing="at it")
    evening.run_for(1)
    before = len(evening.history("segment", segment="s4"))
    for _ in range(20):
        evening.say().say("plover", doing="at it").run_for(30_000)
    assert len(evening.history("segment", segment="s4")) == before
    evening.say("plover")
    lines = evening.history("segment", segment="s4")[before:]
    assert [(line.printer, line.what) for line in lines] == [("plover", "ready")]


def test_an_unacknowledged_alarm_has_all_turns() -> None:
    """At once, without its mark; when it is seen the others have theirs again."""
    evening = Evening(site=sharing("rotate")).begin().say().say("plover")
    evening.run_for(4321)
    evening.say("plover", doing="stuck")
    assert (evening.segment("s4").printer, evening.effect("s4")) == ("plover", "flash")
    assert {printer for _, printer, _ in turns_of(evening, 3 * TURN_MS)} == {"plover"}
    acknowledge(evening, printer="plover")
    printers = {printer for _, printer, _ in turns_of(evening, 3 * TURN_MS)}
    assert printers == {"kestrel", "plover"}


def test_two_unacknowledged_alarms_take_turns_and_the_newer_begins() -> None:
    """One of them acknowledged, the other shows alone."""
    evening = Evening(site=sharing("rotate")).begin().say("plover", doing="stuck")
    evening.run_for(777)
    evening.say(doing="stuck")
    assert (evening.segment("s4").printer, evening.effect("s4")) == ("kestrel", "flash")
    assert {p for _, p, _ in turns_of(evening, 3 * TURN_MS)} == {"kestrel", "plover"}
    acknowledge(evening)
    assert {p for _, p, _ in turns_of(evening, 3 * TURN_MS)} == {"plover"}


@pytest.mark.parametrize("wait_ms", [0, 1000, 4000, 9000, 12_000])
def test_a_new_alarm_of_a_printer_that_takes_turns_waits_for_none(wait_ms: int) -> None:
    """Whoever's turn it is: it is seen at once (I3)."""
    there = sharing(
        "rotate",
        row("halted", "see-me", alarm_stands("halted")),
        row("out of material", "feed-me", alarm_stands("material-out")),
        row("working", "filling", WORKING),
    )
    evening = Evening(site=there).begin().say(snag="spool").say("plover", snag="spool")
    evening.run_for(ON_MS + wait_ms)
    evening.say(doing="stuck", snag="spool")
    shown = evening.segment("s4")
    assert (shown.printer, shown.scene, evening.effect("s4")) == ("kestrel", "see-me", "flash")


def test_a_hold_stops_the_turns_and_they_go_on_after_it() -> None:
    """Nothing wakes the core for a turn that does not show."""
    evening = Evening(site=sharing("rotate")).begin().say().say("plover")
    evening.wish(Hold(("s4",), "dim", 20_000))
    evening.run_for(100)
    assert [look for _, _, look in turns_of(evening, 15_000)] == [evening.segment("s4").look]
    assert isinstance(evening.segment("s4").look, Native)
    evening.say().say("plover").run_until(20_000)
    assert {p for _, p, _ in turns_of(evening, 3 * TURN_MS)} == {"kestrel", "plover"}


def test_a_button_frees_the_turns_of_everybody() -> None:
    """All seen at once."""
    evening = Evening(site=sharing("rotate")).begin().say(doing="stuck")
    evening.say("plover", doing="stuck")
    evening.wish(Press("acknowledge"))
    evening.run_for(100)
    shown = {(p, type(look).__name__) for _, p, look in turns_of(evening, 3 * TURN_MS)}
    assert shown == {
        ("kestrel", "Still"),
        ("kestrel", "Native"),
        ("plover", "Still"),
        ("plover", "Native"),
    }


def test_without_printers_in_a_table_nothing_is_decided() -> None:
    """A resting scene needs no decision."""
    there = site(*ROWS)
    bare = {
        name: replace(segment, printers=(), table=None) for name, segment in there.segments.items()
    }
    evening = Evening(site=replace(there, segments=bare)).begin().say(doing="stuck")
    assert evening.core.view().counts.get("decisions", 0) == 0
    assert evening.segment("s1").scene == "warm"


def test_an_off_delay_that_ends_turns_the_segment_at_its_time() -> None:
    """Latched until somebody resets it, it flashes slowly (sequence R of ISA-18.1)."""
    evening = Evening().begin().say(snag="spool")
    evening.run_for(ON_MS)
    acknowledge(evening, "material-out")
    evening.say()
    began_ms = evening.now_ms
    evening.run_until(began_ms + OFF_MS - 1)
    assert evening.effect() == "steady"
    evening.run_until(began_ms + OFF_MS)
    look = evening.segment().look
    assert isinstance(look, Native)
    assert (look.effect, look.rate) == ("flash", "slow")
