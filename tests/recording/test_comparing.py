"""Two sets of rules over one evening: where, for how long, and which way the outcome differs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.engine.site import Site
from bridge.recording.comparing import Comparing, Outcome, Way, totals
from bridge.recording.lines import Occurred, entries
from bridge.rules.conditions import Condition
from bridge.settings.load import load_texts
from tests.recording.evening import an_evening, lines_of, texts

SITE = load_texts(texts())
FEED_ME, SEE_ME = Outcome("out of material", "feed-me"), Outcome("halted", "see-me")
FILLING = Outcome("working", "filling")


def compared(site: Site) -> Comparing:
    """The evening with this site in place of its own."""
    comparing = Comparing(site, "other")
    for entry in entries(lines_of(an_evening()), load_texts):
        if isinstance(entry, Occurred):
            comparing.take(entry.event, entry.moment)
    return comparing


def _without(*rules: str) -> Site:
    wall = SITE.tables["wall"]
    rows = tuple(row for row in wall.rows if row.name not in rules)
    return replace(SITE, tables={**SITE.tables, "wall": replace(wall, rows=rows)})


def _showing(rule: str, scene: str) -> Site:
    wall = SITE.tables["wall"]
    says = SITE.scenes[scene].says
    rows = tuple(
        replace(row, show=scene, says=says) if row.name == rule else row for row in wall.rows
    )
    return replace(SITE, tables={**SITE.tables, "wall": replace(wall, rows=rows)})


def test_the_same_rules_give_the_same() -> None:
    """Read anew from the recorded texts."""
    assert compared(SITE).differences() == ()


def test_a_rule_that_is_gone_is_told_with_its_time_and_way() -> None:
    """The spool is empty from 77 s on, loaded at 115 s, and the alarm reset at 130 s.

    The bench tells of another printer as well, which stands still from 105 s on.
    """
    differences = compared(_without("out of material")).differences()
    told = [
        (each.segment, each.begin.ms, each.lasted_ms, each.old, each.new, each.way)
        for each in differences
    ]
    assert told == [
        ("bench-left", 77_000, 53_000, FEED_ME, SEE_ME, Way.AS_GRAVE),
        ("door-frame", 77_000, 38_000, FEED_ME, SEE_ME, Way.AS_GRAVE),
        ("door-frame", 115_000, 15_000, FEED_ME, FILLING, Way.MILDER),
    ]
    assert totals(differences) == {
        "bench-left": {Way.AS_GRAVE: 53_000},
        "door-frame": {Way.AS_GRAVE: 38_000, Way.MILDER: 15_000},
    }


def test_a_wish_is_about_the_same_alarm_though_its_occurrence_has_another_name() -> None:
    """An alarm more, raised before: occurrences are counted through all alarms."""
    more = replace(SITE.alarms["spool-empty"], name="stands", when=_when("halted"))
    comparing = compared(replace(SITE, alarms={"stands": more, **SITE.alarms}))
    assert comparing.differences() == ()
    assert comparing.wishes_dropped == 0


def test_wishes_about_what_does_not_stand_are_counted() -> None:
    """The acknowledgement and the reset of an alarm that the other site does not have."""
    bare = _without("out of material")
    comparing = compared(replace(bare, alarms={}))
    assert comparing.wishes_dropped == 2
    assert {each.segment for each in comparing.differences()} == {"bench-left", "door-frame"}


def _when(rule: str) -> tuple[Condition, ...]:
    return next(row.when for row in SITE.tables["wall"].rows if row.name == rule)


WAYS = {
    "milder": ("halted", "filling", Way.MILDER),
    "as grave": ("out of material", "see-me", Way.AS_GRAVE),
    "graver": ("working", "trouble", Way.GRAVER),
}


@pytest.mark.parametrize(("rule", "scene", "way"), WAYS.values(), ids=WAYS.keys())
def test_the_way_is_that_of_what_the_scenes_say(rule: str, scene: str, way: Way) -> None:
    """resting, well, unknown, notice, act, trouble, in this order."""
    differences = compared(_showing(rule, scene)).differences()
    assert differences
    assert {each.way for each in differences} == {way}
    assert {each.new.scene for each in differences} == {scene}


def test_what_differs_for_no_time_is_no_difference() -> None:
    """Kestrel is silent and then heard in the same millisecond; plover is heard 20 ms later."""
    differences = compared(_showing("silent", "trouble")).differences()
    assert [(each.segment, each.begin.ms) for each in differences] == [
        ("shelf", 0),
        ("shelf", 245_021),
    ]


def test_a_difference_lasts_to_the_end() -> None:
    """The kestrel works when the evening ends."""
    last = compared(_showing("working", "trouble")).differences()[-1]
    assert (last.segment, last.end.ms) == ("door-frame", an_evening()[-1].moment.ms)


def test_segments_of_one_site_only_are_told() -> None:
    """From the first instant to the last."""
    segments = {name: each for name, each in SITE.segments.items() if name != "door-sill"}
    gone = compared(replace(SITE, segments=segments)).differences()
    assert {(each.segment, each.new, each.way) for each in gone} == {
        ("door-sill", Outcome("", ""), Way.GONE)
    }
    # It is held for 20 s of it.
    assert [(each.old.scene, each.lasted_ms) for each in gone] == [
        ("warm", 140_000),
        ("dark", 20_000),
        ("warm", an_evening()[-1].moment.ms - 160_000),
    ]


def test_another_time_of_silence_differs_between_events() -> None:
    """What falls due in one core only is timed by its own deadline, not by the next message."""
    reader = SITE.printers["plover"].reader
    page = replace(reader.messages["page"], fresh_for_ms=20_000)
    quick = replace(reader, messages={**reader.messages, "page": page})
    plover = replace(SITE.printers["plover"], reader=quick)
    site = replace(SITE, printers={**SITE.printers, "plover": plover})
    differences = [each for each in compared(site).differences() if each.segment == "shelf"]
    # Its last page came at 200,020 ms; the recorded site believes it for 45 s, this one for 20 s.
    assert [each.new.rule for each in differences][-1] == "silent"
    last = differences[-1]
    assert last.lasted_ms == 25_000


def test_addresses_that_were_never_subscribed_are_told() -> None:
    """Nothing can be said of what they would have brought."""
    kestrel = SITE.printers["kestrel"]
    inputs = tuple(replace(each, address=f"{each.address}/new") for each in kestrel.inputs[:1])
    moved = replace(kestrel, inputs=(*inputs, *kestrel.inputs[1:]))
    site = replace(SITE, printers={**SITE.printers, "kestrel": moved})
    assert compared(site).never_heard() == (f"shed {inputs[0].address}",)
    assert compared(SITE).never_heard() == ()
