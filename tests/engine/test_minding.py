"""What is kept, told and published of alarms, prompts, jobs and hearing."""

from __future__ import annotations

import json
from dataclasses import replace

from bridge.engine.actions import Record
from bridge.engine.wishes import Acknowledge
from bridge.facts.memory import MemoryRecord
from bridge.rules.alarm_records import AlarmRecord, PromptRecord
from bridge.rules.alarm_states import State
from tests.engine.evening import (
    ALARMS,
    ESCALATES_MS,
    FRESH_MS,
    HOUR_MS,
    LOFT,
    OFF_MS,
    ON_MS,
    SIX_PM,
    WORKING,
    Evening,
    has,
    row,
    site,
)

STALLED_MS = 30 * 60_000


def life(evening: Evening, subject: str, name: str = "") -> list[tuple[str, int]]:
    """What history says happened, and when."""
    return [
        (line.what, (line.wall_ms or 0) - SIX_PM)
        for line in evening.history(subject)
        if name in ("", line.name)
    ]


# Alarms ------------------------------------------------------------------------------------------


def test_a_life_is_in_history_with_its_own_times_however_late_it_is_settled() -> None:
    """Woken at each deadline or only by the next message: the same lines."""
    lives = []
    for wakes in (True, False):
        evening = Evening().begin().say(snag="spool")
        if wakes:
            evening.run_until(40_000)
        evening.now_ms = 40_000
        evening.say()
        if wakes:
            evening.run_until(55_000)
        evening.now_ms = 55_000
        evening.say()
        lives.append(life(evening, "alarm", "material-out"))
    assert lives[0] == [("raised", ON_MS), ("returned", 40_000 + OFF_MS)]
    assert lives[1] == lives[0]


def test_each_change_is_recorded_as_the_state_that_it_leads_to() -> None:
    """Durably; the occurrence with it, and when it was raised."""
    evening = Evening().begin().say(doing="stuck")
    evening.run_for(1000)
    evening.wish(Acknowledge(evening.occurrence()))
    evening.run_for(1000)
    evening.say()
    records = [record for record in evening.records("alarm") if isinstance(record, AlarmRecord)]
    assert [(record.state, record.occurrence) for record in records] == [
        (State.UNACKNOWLEDGED, "evening-1"),
        (State.ACKNOWLEDGED, "evening-1"),
        (State.NORMAL, None),
    ]
    assert records[1].raised_wall_ms == SIX_PM
    acknowledged = records[1].acknowledged
    assert acknowledged is not None
    assert (acknowledged.who, acknowledged.wall_ms) == ("ann", SIX_PM + 1000)


def test_an_escalation_says_to_others_what_it_is_about() -> None:
    """Canonical JSON, on the broker that the site names, once an occurrence."""
    evening = Evening().begin().say(doing="stuck")
    evening.keep_saying(10 * ESCALATES_MS, doing="stuck")
    ((at_ms, message),) = evening.published()
    assert (at_ms, message.source, message.topic) == (ESCALATES_MS, LOFT, "alder/escalated")
    assert json.loads(message.payload) == {
        "alarm": "halted",
        "printer": "kestrel",
        "occurrence": "evening-1",
        "state": "unacknowledged",
        "priority": "high",
        "cause": "halted, so it seems",
        "response": "look",
    }
    assert (
        message.payload
        == json.dumps(json.loads(message.payload), sort_keys=True, separators=(",", ":")).encode()
    )


def test_an_escalation_comes_once_for_each_occurrence() -> None:
    """A new one has its own time."""
    evening = Evening().begin()
    for _ in range(2):
        evening.say(doing="stuck").run_for(ESCALATES_MS)
        evening.wish(Acknowledge(evening.occurrence()))
        evening.run_for(100)
        evening.say().run_for(1000)
    assert [at for at, _ in evening.published()] == [ESCALATES_MS, 2 * ESCALATES_MS + 1100]


def test_an_alarm_that_clatters_is_said_to_once() -> None:
    """With what to do against it."""
    evening = Evening().begin()
    for _ in range(6):
        evening.say(doing="stuck").run_for(3000)
        evening.say().run_for(3000)
    (fields,) = evening.notes("alarm chatters: raised three times in a minute")
    assert fields == {"alarm": "halted", "printer": "kestrel", "do": "give it a longer off-delay"}


# Prompts -----------------------------------------------------------------------------------------


def printed(evening: Evening) -> Evening:
    """A job that ran for a minute and was completed, its platform still warm."""
    evening.say(doing="at it", outcome="under way", plate=60).run_for(60_000)
    return evening.say(outcome="whole", plate=60)


def test_a_prompt_ends_by_its_until() -> None:
    """And says nothing of ending before it ever waited."""
    evening = printed(Evening().begin())
    evening.run_for(1000)
    evening.say(outcome="whole", plate=39)
    assert life(evening, "prompt") == [("raised", 60_000), ("ended", 61_000)]
    assert not evening.prompt().waiting


def test_a_prompt_ends_with_the_next_job() -> None:
    """Whose own end raises it anew."""
    evening = printed(printed(Evening().begin()))
    assert life(evening, "prompt") == [
        ("raised", 60_000),
        ("ended", 60_000),
        ("raised", 120_000),
    ]
    occurrences = [line.occurrence for line in evening.history("prompt")]
    assert occurrences[0] == occurrences[1] != occurrences[2]


def test_a_prompt_outlives_its_cause_and_not_knowing() -> None:
    """Neither ends it."""
    evening = printed(Evening().begin())
    evening.lose()
    evening.run_for(HOUR_MS)
    assert evening.prompt().waiting


# Jobs --------------------------------------------------------------------------------------------


def test_a_job_that_ended_is_a_line_with_its_outcome_length_and_progress() -> None:
    """Under its name."""
    evening = Evening().begin().say(doing="at it", outcome="under way", title="hull", share=0.2)
    evening.run_for(50_000)
    evening.say(doing="at it", outcome="under way", title="hull", share=0.9)
    evening.run_for(10_000)
    evening.say(outcome="binned", title="hull")
    (line,) = evening.history("job")
    assert (line.what, line.printer, line.name) == ("canceled", "kestrel", "hull")
    assert (line.after_ms, line.progress) == (60_000, 0.9)


def test_a_job_that_vanishes_in_the_night_says_so_with_its_progress() -> None:
    """The printer comes back at rest: a reason that alarms see, and a line of history."""
    evening = Evening().begin().say(doing="at it", share=0.63, title="hull")
    evening.run_for(8 * HOUR_MS)
    evening.say(title="")
    evening.run_for(10_000)
    (line,) = evening.history("job")
    assert (line.what, line.name, line.progress) == ("vanished", "hull", 0.63)
    assert evening.alarm("vanished").shown == "unacknowledged"
    assert evening.segment().rule == "vanished"
    assert "bridge-job-vanished" in str(evening.core.view().printers["kestrel"].facts["reasons"])


def test_a_job_that_stands_still_is_stalled_at_its_time() -> None:
    """Half an hour without any progress; the first movement ends it."""
    there = site(row("stuck", "see-me", has("bridge-stalled")), row("at it", "filling", WORKING))
    evening = Evening(site=there).begin()
    evening.keep_saying(STALLED_MS - 1, doing="at it", share=0.63)
    assert evening.segment().rule != "stuck"
    evening.run_for(1)
    assert evening.segment().rule == "stuck"
    (line,) = evening.history("job")
    assert (line.what, line.progress, line.after_ms) == ("stalled", 0.63, STALLED_MS)
    evening.say(doing="at it", share=0.63)
    assert len(evening.history("job")) == 1
    evening.say(doing="at it", share=0.64)
    assert evening.segment().rule != "stuck"


def test_a_stall_is_told_once_also_over_a_start() -> None:
    """It goes on; nothing new has happened."""
    first = Evening().begin()
    first.keep_saying(STALLED_MS + 1000, doing="at it", share=0.63)
    first.run_for(100)
    assert len(first.history("job", what="stalled")) == 1
    second = first.again(after_ms=HOUR_MS)
    second.keep_saying(HOUR_MS, doing="at it", share=0.63)
    assert second.history("job") == []
    assert "bridge-stalled" in str(second.core.view().printers["kestrel"].facts["reasons"])


def test_another_name_is_another_job_though_no_rule_reads_names() -> None:
    """The first one's end is told under its own name, with how far it was."""
    evening = Evening().begin()
    evening.keep_saying(60_000, doing="at it", title="hull", share=0.5)
    evening.keep_saying(60_000, doing="at it", title="mast", share=0.5)
    (line,) = evening.history("job")
    assert (line.what, line.name, line.progress) == ("no-value", "hull", 0.5)


def test_a_stop_in_between_is_the_same_job() -> None:
    """Somebody loads a spool and it goes on."""
    evening = Evening().begin()
    evening.keep_saying(60_000, doing="at it", share=0.5)
    evening.keep_saying(60_000, doing="stuck", snag="spool", share=0.5)
    evening.keep_saying(60_000, doing="at it", share=0.6)
    assert evening.history("job") == []


# Hearing and memory ------------------------------------------------------------------------------


def test_when_a_printer_went_stale_and_was_heard_again_is_in_history() -> None:
    """At the very instants."""
    evening = Evening().begin()
    evening.run_for(5000)
    evening.say()
    evening.run_for(2 * HOUR_MS)
    evening.say()
    lines = [
        (line.what, (line.wall_ms or 0) - SIX_PM)
        for line in evening.history("hearing", printer="kestrel")
    ]
    assert lines == [
        ("stale", 0),
        ("fresh", 5000),
        ("stale", 5001 + FRESH_MS),
        ("fresh", 5000 + 2 * HOUR_MS),
    ]


def test_memory_is_kept_where_it_is_worth_it() -> None:
    """A job's beginning and end durably; the same page again not at all."""
    evening = Evening().begin().say()
    evening.run_for(2000)
    before = len(evening.records("memory"))
    evening.keep_saying(HOUR_MS)
    assert len(evening.records("memory")) == before
    evening.say(doing="at it", share=0.0)
    records = evening.records("memory")[before:]
    assert len(records) == 1
    assert isinstance(records[0], MemoryRecord)
    assert records[0].job is not None
    evening.say(doing="at it", share=0.5)
    evening.say(outcome="binned")
    durable = [
        (action.what.job is not None, action.durable)
        for _, action in evening.actions
        if isinstance(action, Record) and isinstance(action.what, MemoryRecord)
    ]
    assert durable[-3:] == [(True, True), (True, False), (False, True)]


# What an earlier start left ----------------------------------------------------------------------


def test_an_alarm_that_the_site_does_not_have_any_more_is_closed() -> None:
    """Told once: the record says normal, so that the next start has nothing to tell."""
    first = Evening().begin().say(doing="stuck")
    first.run_for(100)
    there = site()
    bare = replace(there, alarms={n: a for n, a in there.alarms.items() if n != "halted"})
    first.site = replace(
        bare, tables={"wall": replace(bare.tables["wall"], rows=bare.tables["wall"].rows[3:])}
    )
    second = first.again()
    (fields,) = second.notes("alarm that stood is closed")
    assert fields["alarm"] == "halted"
    (line,) = second.history("alarm", name="halted")
    assert line.what == "withdrawn by edit"
    second.run_for(100)
    third = second.again()
    assert third.notes("alarm that stood is closed") == []


def test_a_prompt_that_the_site_does_not_have_any_more_is_closed() -> None:
    """As an alarm."""
    first = printed(Evening().begin())
    first.run_for(100)
    first.site = replace(site(row("idle", "ready")), prompts={})
    second = first.again()
    second.run_for(100)
    records = [each for each in second.kept.values() if isinstance(each, PromptRecord)]
    assert [record.printer for record in records if not record.is_normal] == []


def test_records_of_a_printer_that_is_gone_are_no_error() -> None:
    """Nothing of them is taken up; what stood is closed."""
    first = printed(Evening().begin())
    first.say(doing="stuck", outcome="whole", plate=60).run_for(100)
    there = site()
    kept = {name: there.segments[name] for name in ("s2", "s3")}
    plover = {"plover": there.printers["plover"]}
    first.site = replace(there, segments=kept, printers=plover, sets={})
    second = first.again()
    assert [each.printer for each in second.core.view().alarms] == ["plover"] * len(ALARMS)
    assert {each.occurrence for each in second.core.view().alarms} == {None}
    closed = second.history("alarm") + second.history("prompt")
    assert {(line.name, line.what) for line in closed} == {
        ("halted", "withdrawn by edit"),
        ("collect", "withdrawn by edit"),
    }
