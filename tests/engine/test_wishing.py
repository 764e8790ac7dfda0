"""What persons wish, when it shows, and what they are told."""

from __future__ import annotations

import pytest

from bridge.engine.actions import Note, Record, Tell
from bridge.engine.events import NotRecorded, Recorded, Wished
from bridge.engine.keeping import ANSWER_WITHIN_MS
from bridge.engine.wishes import (
    Acknowledge,
    Collected,
    Hold,
    OutOfService,
    Press,
    Release,
    Reset,
    ReturnToService,
    Shelve,
    Unshelve,
    Wish,
)
from bridge.rules.alarm_records import AlarmRecord
from bridge.rules.alarm_states import State
from tests.engine.evening import HOUR_MS, OFF_MS, ON_MS, Disk, Evening, site

SCENES = ", ".join(site().scenes)

NOT_KEPT = "; it is not kept: a restart will not know of it"


def halted(disk: Disk = "keeps") -> Evening:
    """Kestrel has stopped, and nobody has seen it."""
    evening = Evening(disk=disk).begin().say()
    evening.run_for(5000)
    return evening.say(doing="stuck")


def out_of_material(disk: Disk = "keeps") -> Evening:
    """Kestrel's material is out past the on-delay."""
    evening = Evening(disk=disk).begin().say(snag="spool")
    evening.run_for(ON_MS)
    return evening


def with_part(disk: Disk = "keeps") -> Evening:
    """Kestrel has a part to collect, and nothing says how warm its platform is."""
    evening = Evening(disk=disk).begin()
    evening.say(doing="at it", outcome="under way").run_for(1000)
    evening.say(outcome="whole").run_for(1000)
    return evening


# When it shows -----------------------------------------------------------------------------------


def test_an_acknowledgement_shows_and_is_answered_when_it_is_kept() -> None:
    """Not before; then both in the same instant."""
    evening = halted()
    token = evening.wish(Acknowledge(evening.occurrence()))
    assert (evening.effect(), evening.answer(token)) == ("flash", None)
    assert evening.alarm().shown == "unacknowledged"
    evening.run_for(100)
    assert evening.effect() == "steady"
    assert evening.answer(token) == Tell(token, True, True, "halted of kestrel: acknowledged")  # noqa: FBT003
    assert evening.alarm().shown == "acknowledged"


def test_other_news_in_between_does_not_let_it_show_early() -> None:
    """The segment is looked at again while the disk writes."""
    evening = halted("silent")
    evening.wish(Acknowledge(evening.occurrence()))
    evening.say(doing="stuck", share=0.5)
    evening.say("plover", doing="stuck")
    assert evening.effect() == "flash"


WITHOUT_DISK: list[tuple[Disk, int]] = [("off", 0), ("refuses", 100), ("silent", ANSWER_WITHIN_MS)]


@pytest.mark.parametrize(("disk", "after_ms"), WITHOUT_DISK)
def test_where_nothing_is_kept_it_takes_effect_all_the_same(disk: Disk, after_ms: int) -> None:
    """At once, when the disk says no, or when it has not answered for 5 s; and is told so."""
    evening = halted(disk)
    token = evening.wish(Acknowledge(evening.occurrence()))
    if after_ms:
        evening.run_for(after_ms - 100 if after_ms > 100 else 1)
        assert (evening.effect(), evening.answer(token)) == ("flash", None)
    evening.run_for(100)
    told = evening.answer(token)
    assert told is not None
    assert (told.taken, told.kept) == (True, False)
    assert told.why == f"halted of kestrel: acknowledged{NOT_KEPT}"
    assert evening.effect() == "steady"


def test_a_late_confirmation_tells_nobody_twice() -> None:
    """The disk answers after all, an hour later."""
    evening = halted("silent")
    token = evening.wish(Acknowledge(evening.occurrence()))
    evening.keep_saying(HOUR_MS, doing="stuck")
    evening.feed(Recorded(10_000))
    told = evening.answer(token)
    assert told is not None
    assert not told.kept


def test_a_new_fault_shows_while_an_acknowledgement_is_still_being_written() -> None:
    """What a raise shows never waits, and the late confirmation does not hide it (I4)."""
    evening = halted("silent")
    first = evening.occurrence()
    evening.wish(Acknowledge(first))
    evening.say()
    evening.run_for(100)
    evening.say(doing="stuck")
    assert evening.alarm().shown == "unacknowledged"
    assert evening.occurrence() != first
    evening.run_for(2 * ANSWER_WITHIN_MS)
    evening.feed(Recorded(10_000))
    assert evening.effect() == "flash"


# Occurrences -------------------------------------------------------------------------------------


def test_a_late_acknowledgement_does_not_silence_a_newer_occurrence() -> None:
    """It names the one that was seen (I4)."""
    evening = halted()
    first = evening.occurrence()
    evening.wish(Acknowledge(first))
    evening.run_for(100)
    evening.say().run_for(100)
    evening.say(doing="stuck").run_for(100)
    token = evening.wish(Acknowledge(first), "bob")
    told = evening.answer(token)
    assert told is not None
    assert not told.taken
    assert told.why == (
        f"halted of kestrel: it is already acknowledged: {evening.occurrence()} stands"
    )
    assert evening.effect() == "flash"


def test_an_occurrence_of_two_before_is_over() -> None:
    """Nothing of it is known any more."""
    evening = halted()
    first = evening.occurrence()
    for _ in range(2):
        evening.wish(Acknowledge(evening.occurrence()))
        evening.run_for(100)
        evening.say().run_for(100)
        evening.say(doing="stuck").run_for(100)
    told = evening.answer(evening.wish(Acknowledge(first)))
    assert told is not None
    assert told.why == f"there is no occurrence {first}, or it is over"


def test_who_acknowledges_what_another_did_is_told_so() -> None:
    """And changes nothing."""
    evening = halted()
    occurrence = evening.occurrence()
    evening.wish(Acknowledge(occurrence), "ann")
    token = evening.wish(Acknowledge(occurrence), "bob")
    told = evening.answer(token)
    assert told is not None
    assert (told.taken, told.why) == (
        False,
        f"halted of kestrel: it is already acknowledged: {occurrence} stands"
        if "stands" in told.why
        else f"halted of kestrel: it is already acknowledged: {occurrence}",
    )
    evening.run_for(100)
    assert [line.who for line in evening.history("alarm", what="acknowledged")] == ["ann"]


def test_the_wrong_wish_for_the_kind_says_what_it_is() -> None:
    """A prompt is collected, an alarm acknowledged."""
    evening = with_part()
    occurrence = evening.prompt().occurrence
    assert occurrence is not None
    told = evening.answer(evening.wish(Acknowledge(occurrence)))
    assert told is not None
    assert told.why == "collect is a prompt: it cannot be acknowledged"
    stuck = halted()
    told = stuck.answer(stuck.wish(Collected(stuck.occurrence())))
    assert told is not None
    assert told.why == "halted is an alarm: it cannot be collected"


# Reset, collected, shelves -----------------------------------------------------------------------


def test_a_latched_alarm_waits_for_a_reset_that_is_kept() -> None:
    """Acknowledged and returned, sequence R flashes slowly; then it is over."""
    evening = out_of_material()
    evening.wish(Acknowledge(evening.occurrence("material-out")))
    evening.run_for(100)
    evening.say().run_for(OFF_MS)
    assert evening.alarm("material-out").shown == "latched"
    assert evening.segment().scene == "feed-me"
    token = evening.wish(Reset(evening.occurrence("material-out")))
    assert evening.segment().rule == "out of material"
    evening.run_for(100)
    assert evening.segment().rule == "idle"
    told = evening.answer(token)
    assert told is not None
    assert (told.taken, told.kept) == (True, True)


def test_collected_ends_a_prompt_when_it_is_kept() -> None:
    """And history says how long the person was waited for."""
    evening = with_part()
    assert evening.segment().rule == "part to collect"
    occurrence = evening.prompt().occurrence
    assert occurrence is not None
    token = evening.wish(Collected(occurrence), "bob")
    assert evening.segment().rule == "part to collect"
    evening.run_for(100)
    assert evening.segment().rule == "idle"
    assert evening.answer(token) is not None
    (line,) = evening.history("prompt", what="collected")
    assert (line.who, line.after_ms, line.occurrence) == ("bob", 1000, occurrence)
    again = evening.answer(evening.wish(Collected(occurrence)))
    assert again is not None
    assert again.why == "collect of kestrel: it is already collected"


@pytest.mark.parametrize("returned", [False, True])
def test_history_says_how_long_an_acknowledgement_took(returned: bool) -> None:
    """Also of an alarm that is over with it."""
    evening = halted()
    evening.run_for(4000)
    if returned:
        evening.say()
    evening.run_for(3000)
    evening.wish(Acknowledge(evening.occurrence()))
    (line,) = evening.history("alarm", what="acknowledged")
    assert line.after_ms == 7000


def test_a_shelf_hides_when_it_is_kept_and_ends_by_itself() -> None:
    """At the millisecond; what is beneath it then shows."""
    evening = halted()
    token = evening.wish(Shelve("halted", "kestrel", 60_000, "waiting for a part"))
    assert evening.segment().rule == "halted"
    evening.run_for(100)
    assert evening.segment().rule != "halted"
    assert evening.alarm().shown == "shelved"
    assert evening.answer(token) is not None
    evening.keep_saying(59_899, doing="stuck")
    assert evening.alarm().shown == "shelved"
    evening.run_for(1)
    assert evening.alarm().shown == "unacknowledged"
    assert evening.effect() == "flash"
    (line,) = evening.history("alarm", what="unshelved")
    assert line.cause == "its time is over"


def test_a_shelf_shorter_than_the_disk_is_slow_is_over_at_its_time() -> None:
    """It is not waited for the disk."""
    evening = halted("silent")
    evening.run_for(3000)  # nothing else is due by now
    evening.wish(Shelve("halted", "kestrel", 2000, "waiting for a part"))
    evening.run_for(1999)
    assert evening.history("alarm", what="unshelved") == []
    evening.run_for(1)
    assert len(evening.history("alarm", what="unshelved")) == 1
    evening.run_for(ANSWER_WITHIN_MS)
    assert evening.alarm().shown == "unacknowledged"


def test_back_from_the_shelf_and_back_in_service_show_at_once() -> None:
    """More careful never waits for a disk."""
    evening = halted()
    evening.wish(Shelve("halted", "kestrel", HOUR_MS, "waiting"))
    evening.run_for(100)
    assert evening.segment().rule != "halted"
    evening.wish(Unshelve("halted", "kestrel"))
    assert (evening.alarm().shown, evening.segment().rule) == ("unacknowledged", "halted")
    evening.wish(OutOfService("halted", "kestrel", "the sensor is broken"))
    assert evening.alarm().shown == "unacknowledged"
    evening.run_for(100)
    assert evening.alarm().shown == "out-of-service"
    assert evening.segment().rule != "halted"
    evening.wish(ReturnToService("halted", "kestrel"))
    assert (evening.alarm().shown, evening.segment().rule) == ("unacknowledged", "halted")


REFUSED: list[tuple[Wish, str]] = [
    (Acknowledge("x-1"), "there is no occurrence x-1, or it is over"),
    (Acknowledge(""), "there is no occurrence , or it is over"),
    (Shelve("halted", "rook", 1, "r"), "there is no printer 'rook'"),
    (
        Shelve("hatled", "kestrel", 1, "r"),
        "kestrel has no alarm 'hatled'; it has material-out, halted, vanished",
    ),
    (Shelve("halted", "kestrel", 1000, " "), "halted of kestrel: it needs a reason"),
    (Shelve("halted", "kestrel", 0, "r"), "halted of kestrel: that time is past"),
    (Unshelve("halted", "kestrel"), "halted of kestrel: it is not shelved"),
    (OutOfService("halted", "kestrel", ""), "halted of kestrel: it needs a reason"),
    (ReturnToService("halted", "kestrel"), "halted of kestrel: it is in service"),
    (Hold((), "dim", None), "no segment is named"),
    (
        Hold(("s3", "s9"), "dim", None),
        "there is no segment 's9'; there are s1, s2, s3, s4, s5, shelf, all",
    ),
    (Hold(("s3",), "dimm", None), f"there is no scene 'dimm'; there are {SCENES}"),
    (
        Hold(("all",), "dim", None),
        "s1 shows a printer, so it must end: say for how long",
    ),
    (
        Hold(("s1",), "ready", HOUR_MS),
        "s1 shows a printer, so the scene must say resting; 'ready' says well",
    ),
    (Release(()), "no segment is named"),
    (Release(("s3",)), "none of them is held"),
    (
        Release(("s9",)),
        "there is no segment 's9'; there are s1, s2, s3, s4, s5, shelf, all",
    ),
    (Press("acknowledge"), "nothing waits to be acknowledged"),
    (Press("reset"), "nothing waits to be reset"),
    (Press("collected"), "nothing waits to be collected"),
    (Press("dance"), "nothing waits to be dance"),
]


@pytest.mark.parametrize(("wish", "why"), REFUSED)
def test_what_is_not_granted_is_answered_at_once_with_why(wish: Wish, why: str) -> None:
    """And changes nothing."""
    evening = Evening().begin().say()
    evening.run_for(1000)
    before = evening.core.view()
    assert evening.answer(evening.wish(wish)) == Tell("wish-1", False, False, why)  # noqa: FBT003
    assert evening.core.view() == before


# Holds -------------------------------------------------------------------------------------------


def test_a_hold_shows_when_it_is_kept_and_ends_by_itself() -> None:
    """Then the table again; both are in history."""
    evening = Evening().begin().say()
    token = evening.wish(Hold(("s1", "s3"), "dim", 60_000))
    assert (evening.segment().scene, evening.segment("s3").scene) == ("ready", "warm")
    evening.run_for(100)
    assert (evening.segment().scene, evening.segment("s3").scene) == ("dim", "dim")
    assert evening.segment().because == "it is held"
    assert evening.answer(token) == Tell(token, True, True, "s1 is held; s3 is held")  # noqa: FBT003
    evening.keep_saying(59_899)
    assert evening.segment().scene == "dim"
    evening.run_for(1)
    assert (evening.segment().rule, evening.segment("s3").scene) == ("idle", "warm")
    assert [(line.what, line.who) for line in evening.history("hold", segment="s1")] == [
        ("held", "ann"),
        ("released", ""),
    ]
    evening.run_for(100)
    assert evening.kept["hold", "s1", ""].scene is None  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("names", "held"),
    [
        (("shelf",), ("s3", "s5")),
        (("all",), ("s1", "s2", "s3", "s4", "s5")),
        (("s5", "shelf", "s5"), ("s3", "s5")),
    ],
)
def test_a_set_is_held_as_one_wish(names: tuple[str, ...], held: tuple[str, ...]) -> None:
    """Each once, in the site's order, and released alike."""
    evening = Evening().begin()
    token = evening.wish(Hold(names, "dim", HOUR_MS))
    evening.run_for(100)
    assert tuple(each.segment for each in evening.core.view().holds) == held
    told = evening.answer(token)
    assert told is not None
    assert told.why == "; ".join(f"{name} is held" for name in held)
    evening.wish(Release(names))
    evening.run_for(100)
    assert evening.core.view().holds == ()
    assert {evening.segment(name).because for name in held}.isdisjoint({"it is held"})


def test_what_a_hold_hid_shows_as_soon_as_it_is_released() -> None:
    """It waits for no record, and for nothing to be heard; the answer does."""
    evening = Evening().begin().say()
    evening.wish(Hold(("s1",), "dim", HOUR_MS))
    evening.run_for(100)
    token = evening.wish(Release(("s1",)))
    assert evening.segment().rule == "idle"
    assert evening.answer(token) is None
    evening.run_for(100)
    assert evening.answer(token) == Tell(token, True, True, "s1 is released")  # noqa: FBT003


def test_a_hold_that_another_takes_the_place_of_shows_until_that_is_kept() -> None:
    """Also where the segment is looked at in between."""
    evening = Evening().begin().say()
    evening.wish(Hold(("s1",), "dim", HOUR_MS))
    evening.run_for(100)
    evening.wish(Hold(("s1",), "warm", HOUR_MS))
    evening.say(doing="at it")
    assert evening.segment().scene == "dim"
    evening.run_for(100)
    assert evening.segment().scene == "warm"


def test_all_dark_but_alarms_is_one_wish() -> None:
    """An alarm that comes cuts in; acknowledged, the hold shows again."""
    evening = Evening().begin().say()
    evening.wish(Hold(("all",), "dim", HOUR_MS))
    evening.run_for(100)
    evening.say(doing="stuck")
    assert evening.segment().rule == "halted"
    assert evening.segment("s2").scene == "dim"
    evening.wish(Acknowledge(evening.occurrence()))
    evening.run_for(100)
    assert evening.segment().scene == "dim"


# Buttons -----------------------------------------------------------------------------------------


def test_a_button_means_all_that_stands_now() -> None:
    """Of both printers; each is told of with who."""
    evening = halted().say("plover", doing="stuck")
    token = evening.wish(Press("acknowledge"), "door button")
    evening.run_for(100)
    assert (evening.alarm().shown, evening.alarm("halted", "plover").shown) == (
        "acknowledged",
        "acknowledged",
    )
    told = evening.answer(token)
    assert told is not None
    assert told.why == "halted of kestrel: acknowledged; halted of plover: acknowledged"
    assert {line.who for line in evening.history("alarm", what="acknowledged")} == {"door button"}


def test_an_answer_about_several_waits_for_the_last_of_them() -> None:
    """Each lamp changes with its own record; one that is not kept makes the answer say so."""
    evening = halted("silent").say("plover", doing="stuck")
    token = evening.wish(Press("acknowledge"))
    acknowledged = [
        action.number
        for _, action in evening.actions
        if isinstance(action, Record)
        and isinstance(action.what, AlarmRecord)
        and action.what.state is State.ACKNOWLEDGED
    ]
    evening.feed(Recorded(acknowledged[0]))
    assert (evening.effect("s1"), evening.effect("s2")) == ("steady", "flash")
    assert evening.answer(token) is None
    evening.feed(NotRecorded(acknowledged[1], "no space left"))
    assert (evening.effect("s1"), evening.effect("s2")) == ("steady", "steady")
    told = evening.answer(token)
    assert told is not None
    assert (told.taken, told.kept) == (True, False)


@pytest.mark.parametrize(
    ("press", "acknowledged"),
    [
        (Press("acknowledge", printers=("plover",)), ["plover"]),
        (Press("acknowledge", names=("halted",)), ["kestrel", "plover"]),
        (Press("acknowledge", names=("vanished",)), []),
        (Press("acknowledge", printers=("kestrel",), names=("halted",)), ["kestrel"]),
        (Press("reset"), []),
    ],
)
def test_a_button_may_be_narrowed(press: Press, acknowledged: list[str]) -> None:
    """To printers and to names."""
    evening = halted().say("plover", doing="stuck")
    evening.wish(press)
    evening.run_for(100)
    assert [a.printer for a in evening.core.view().alarms if a.shown == "acknowledged"] == (
        acknowledged
    )


def test_a_button_does_not_reach_beneath_a_shelf() -> None:
    """Nobody can have seen what does not show."""
    evening = halted()
    evening.wish(Shelve("halted", "kestrel", HOUR_MS, "waiting"))
    evening.run_for(100)
    told = evening.answer(evening.wish(Press("acknowledge")))
    assert told is not None
    assert told.why == "nothing waits to be acknowledged"


def test_a_press_that_nobody_waits_for_is_told_to_the_log() -> None:
    """Who and what came of it."""
    evening = halted()
    evening.feed(Wished("", "door button", Press("acknowledge")))
    evening.run_for(100)
    (fields,) = evening.notes("a button was pressed")
    assert fields == {
        "who": "door button",
        "taken": True,
        "why": "halted of kestrel: acknowledged",
    }
    assert not any(isinstance(action, Tell) for _, action in evening.actions)
    assert any(isinstance(action, Note) for _, action in evening.actions)


def test_a_collecting_button_collects_and_no_alarm_is_touched() -> None:
    """The part is out; the trouble stays."""
    evening = with_part().say("plover", doing="stuck")
    evening.wish(Press("collected"))
    evening.run_for(100)
    assert not evening.prompt().waiting
    assert evening.alarm("halted", "plover").shown == "unacknowledged"
