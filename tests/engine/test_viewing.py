"""The picture of all that is known and shown."""

from __future__ import annotations

from dataclasses import FrozenInstanceError

import pytest

from bridge.engine.core import Core
from bridge.engine.events import Due
from bridge.engine.view import AlarmView, HoldView, PromptView, View
from bridge.engine.viewing import view_of
from bridge.engine.wishes import Acknowledge, Hold, OutOfService, Shelve
from bridge.facts.moment import Moment
from tests.engine.evening import (
    ESCALATES_MS,
    HOUR_MS,
    ON_MS,
    SIX_PM,
    Evening,
    carrying,
)


def test_before_the_settings_there_is_nothing_to_see() -> None:
    """And that is no error."""
    assert view_of(None, Moment(7)) == View(7, {}, {}, {}, {}, {})
    assert Core().view() == View(0, {}, {}, {}, {}, {})


def test_a_picture_stays_as_it_is() -> None:
    """Frozen, and not of the living facts."""
    evening = Evening().begin().say(doing="at it", share=0.5)
    picture = evening.core.view()
    with pytest.raises(FrozenInstanceError):
        picture.now_ms = 0  # type: ignore[misc]
    before = dict(picture.printers["kestrel"].facts)
    evening.say(doing="stuck")
    assert dict(picture.printers["kestrel"].facts) == before
    assert picture.segments["s1"].rule == "working"


def test_an_alarm_has_its_state_and_how_rules_read_it() -> None:
    """With since when, on both clocks, and what to do."""
    evening = Evening().begin().say()
    evening.run_for(1000)
    evening.say(doing="stuck")
    assert evening.alarm() == AlarmView(
        alarm="halted",
        printer="kestrel",
        state="unacknowledged",
        shown="unacknowledged",
        occurrence="evening-1",
        priority="high",
        since_wall_ms=SIX_PM + 1000,
        since_ms=1000,
        unconfirmed=False,
        escalated=False,
        standing=False,
        chattering=False,
        shelved_until_wall_ms=None,
        cause="halted, so it seems",
        response="look",
    )


def test_a_normal_alarm_of_which_nothing_is_known_is_read_as_unknown() -> None:
    """Its state is normal, its word is not."""
    evening = Evening().begin()
    assert (evening.alarm().state, evening.alarm().shown) == ("normal", "unknown")
    assert not evening.alarm().unconfirmed
    evening.say()
    assert (evening.alarm().state, evening.alarm().shown) == ("normal", "normal")


def test_an_alarm_that_is_put_aside_says_until_when() -> None:
    """Its own state is told all the same."""
    evening = Evening().begin().say(doing="stuck")
    evening.wish(Shelve("halted", "kestrel", HOUR_MS, "waiting for a part"))
    evening.run_for(100)
    seen = evening.alarm()
    assert (seen.state, seen.shown) == ("unacknowledged", "shelved")
    assert seen.shelved_until_wall_ms == SIX_PM + HOUR_MS
    evening.wish(OutOfService("halted", "kestrel", "broken"))
    evening.run_for(100)
    assert evening.alarm().shown == "out-of-service"


def test_escalated_standing_and_chattering_are_said() -> None:
    """Each when it is so, and not a moment before."""
    evening = Evening().begin().say(doing="stuck")
    evening.run_for(ESCALATES_MS - 1)
    assert not evening.alarm().escalated
    evening.run_for(1)
    assert evening.alarm().escalated
    evening.run_until(24 * HOUR_MS)
    evening.say(doing="stuck")
    assert not evening.alarm().standing
    evening.run_for(1)
    evening.feed(Due())
    assert evening.alarm().standing
    for _ in range(3):
        evening.say().run_for(5000)
        assert not evening.alarm("halted", "plover").chattering
        evening.say(doing="stuck").run_for(5000)
    evening.say()
    assert evening.alarm().chattering
    assert len(evening.notes("alarm chatters: raised three times in a minute")) == 1
    evening.run_for(60_000)
    evening.feed(Due())
    assert not evening.alarm().chattering


def test_an_acknowledged_alarm_goes_on_being_unconfirmed_while_nothing_is_heard() -> None:
    """It keeps its look, and says so."""
    evening = Evening().begin().say(doing="stuck")
    evening.wish(Acknowledge(evening.occurrence()))
    evening.run_for(100)
    evening.lose()
    assert (evening.alarm().shown, evening.alarm().unconfirmed) == ("acknowledged", True)


def test_prompts_and_holds_are_in_it() -> None:
    """Who holds what until when; what a person is wanted for, and since when."""
    evening = Evening().begin().say(doing="at it", outcome="under way")
    evening.run_for(1000)
    evening.say(outcome="whole")
    evening.wish(Hold(("shelf",), "dim", None), "bob")
    evening.wish(Hold(("s1",), "dim", HOUR_MS), "ann")
    evening.run_for(100)
    picture = evening.core.view()
    assert picture.prompts == (
        PromptView("collect", "kestrel", True, "evening-1", 1000, "take the part out"),  # noqa: FBT003
        PromptView("collect", "plover", False, None, None, "take the part out"),  # noqa: FBT003
    )
    assert picture.holds == (
        HoldView("s3", "dim", None, None, "bob"),
        HoldView("s5", "dim", None, None, "bob"),
        HoldView("s1", "dim", SIX_PM + 1000 + HOUR_MS, 1000 + HOUR_MS, "ann"),
    )


def test_a_printer_has_its_past_its_alarms_and_its_prompts_beside_its_facts() -> None:
    """Also where no rule reads them; times in seconds."""
    evening = Evening().begin().say(doing="at it", share=0.5, title="hull", snag="spool")
    evening.run_for(ON_MS)
    facts = evening.core.view().printers["kestrel"].facts
    assert (facts["state"], facts["progress"], facts["job-name"]) == ("processing", 0.5, "hull")
    assert (facts["time-in-state"], facts["time-unchanged"]) == (5.0, 5.0)
    assert facts["alarm material-out"] == "unacknowledged"
    assert facts["prompt collect"] == "normal"


def test_a_segment_says_which_printer_it_speaks_of_and_why() -> None:
    """Of its table, of what it carries, of its hold, of its rest."""
    evening = Evening(site=carrying("s3")).begin().say(doing="stuck").say("plover")
    picture = evening.core.view().segments
    assert {name: (seen.printer, seen.rule, seen.because) for name, seen in picture.items()} == {
        "s1": ("kestrel", "halted", "alarm halted, not acknowledged (unacknowledged)"),
        "s2": ("plover", "idle", "state is idle (idle)"),
        "s3": ("kestrel", "", "it carries the alarm halted of kestrel"),
        "s4": ("kestrel", "halted", "alarm halted, not acknowledged (unacknowledged)"),
        "s5": ("", "", "its resting scene"),
    }
    reasons = dict(picture["s2"].passed_over)
    assert reasons["halted"] == "alarm halted: is not so, alarm halted is normal"


def test_looking_changes_nothing() -> None:
    """Twice the same, and the core goes on as if nobody had looked."""
    seen, unseen = Evening().begin(), Evening().begin()
    for evening in (seen, unseen):
        for doing in ("at it", "stuck", "aside"):
            evening.say(doing=doing, snag="spool")
            if evening is seen:
                assert evening.core.view() == evening.core.view()
            evening.run_for(7000)
    assert seen.actions == unseen.actions
