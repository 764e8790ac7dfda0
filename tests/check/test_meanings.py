"""What each scene of the example means, and of sites made of it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest

from bridge.check.meanings import SENTENCES, Meaning, Occasion, meanings_of
from bridge.engine.site import Site
from bridge.facts.vocabulary import GRAVITY, Says
from bridge.rules.alarm_states import Sequence
from bridge.rules.day_times import DayTime, Span
from bridge.rules.table import Row, Table
from bridge.scenes.scene import HAND_BACK, Scene
from bridge.settings.load import load_site

SITE = load_site(Path(__file__).parents[2] / "config")


def meaning(site: Site, scene: str) -> Meaning:
    """That of one scene."""
    return next(each for each in meanings_of(site) if each.scene.name == scene)


def whats(site: Site, scene: str) -> list[str]:
    """On which occasions it shows."""
    return [each.what for each in meaning(site, scene).occasions]


def test_the_example_means_what_its_rules_show_and_no_more() -> None:
    """Every rule's scene, what shows otherwise, and what a segment rests in."""
    rows = [row for table in SITE.tables.values() for row in (*table.rows, table.otherwise)]
    alone = {each.resting for each in SITE.segments.values() if each.table is None}
    assert {each.scene.name for each in meanings_of(SITE)} == {row.show for row in rows} | alone
    for row in (row for table in SITE.tables.values() for row in table.rows):
        assert row.name in whats(SITE, row.show)


def test_a_scene_that_nothing_shows_is_left_out() -> None:
    """And a table that no segment has shows nothing."""
    spare = Scene("spare", "trouble", "steady", (255, 0, 0))
    other = Scene("other", "trouble", "steady", (255, 0, 0))
    rest = SITE.tables["wall"].otherwise
    table = Table("loft", (replace(rest, name="x", show="other"),), rest)
    site = replace(
        SITE,
        scenes={**SITE.scenes, "spare": spare, "other": other},
        tables={**SITE.tables, "loft": table},
    )
    assert meanings_of(site) == meanings_of(SITE)


def test_the_gravest_comes_first() -> None:
    """And among those that are alike, in the order of the rules."""
    names = [each.scene.name for each in meanings_of(SITE)]
    says = [each.scene.says for each in meanings_of(SITE)]
    assert says == sorted(says, key=GRAVITY.index, reverse=True)
    assert names[:3] == ["trouble", "see-me", "feed-me"]


def test_all_rules_of_a_scene_are_listed_once_with_what_to_do() -> None:
    """Though two tables have them."""
    assert whats(SITE, "see-me") == ["vanished", "stalled", "left waiting"]
    assert meaning(SITE, "feed-me").occasions == (
        Occasion("out of material", "the spool ran out, or slipped", "load a spool"),
    )
    assert meaning(SITE, "fetch-me").occasions == (
        Occasion("part to collect", "", "take the part out"),
    )
    assert meaning(SITE, "filling").occasions == (Occasion("working"),)


def test_rules_of_one_name_and_different_answers_are_two() -> None:
    """Neither answer is lost."""
    glance = SITE.tables["glance"]
    rows = [replace(row, name="broken") if row.name == "vanished" else row for row in glance.rows]
    rows = [replace(row, show="trouble") if row.name == "broken" else row for row in rows]
    tables = {**SITE.tables, "glance": replace(glance, rows=tuple(rows))}
    told = meaning(replace(SITE, tables=tables), "trouble").occasions
    assert [(each.what, each.response) for each in told] == [
        ("broken", SITE.alarms["broken"].response),
        ("broken", SITE.alarms["vanished"].response),
    ]


def test_an_alarm_that_only_a_segment_carries_is_told_by_its_own_name() -> None:
    """Where a rule shows it, the rule has told it."""
    lamp = {name: each for name, each in SITE.segments.items() if name == "shelf-lamp"}
    alone = replace(SITE, segments=lamp)
    broken = SITE.alarms["broken"]
    assert meaning(alone, "trouble").occasions == (
        Occasion("broken", broken.cause, broken.response),
    )
    jammed = replace(broken, name="jammed")
    with_both = replace(SITE, alarms={**SITE.alarms, "jammed": jammed})
    assert whats(with_both, "trouble") == ["broken", "jammed"]
    assert whats(SITE, "trouble") == ["broken"]


def test_what_is_left_when_nobody_watches_is_told() -> None:
    """Even where no rule shows it."""
    gone = Scene("gone", "unknown", "steady", (90, 90, 90))
    site = replace(SITE, scenes={**SITE.scenes, "gone": gone}, off_watch="gone")
    assert whats(site, "gone") == ["the bridge is stopped, and nobody watches the printers"]


def test_rest_by_the_time_of_day_is_told() -> None:
    """All of it, for segments that no table drives."""
    lamp = SITE.segments["shelf-lamp"]
    span = Span(DayTime("clock", 0), DayTime("clock", 3600))
    segments = {**SITE.segments, "shelf-lamp": replace(lamp, resting_by_day=((span, "warm"),))}
    site = replace(SITE, segments=segments)
    assert "shelf-lamp rests" in whats(site, "warm")
    assert "shelf-lamp rests" in whats(site, "dark")
    assert "shelf rests" not in whats(site, "warm")


def test_what_is_handed_back_shows_its_rest() -> None:
    """By the rule that lets go of it."""
    wall = SITE.tables["wall"]
    rows = tuple(replace(r, show=HAND_BACK) if r.name == "night" else r for r in wall.rows)
    site = replace(SITE, tables={**SITE.tables, "wall": replace(wall, rows=rows)})
    assert whats(site, "warm")[:1] == ["night"]
    assert HAND_BACK not in [each.scene.name for each in meanings_of(site)]


LOOKS: list[tuple[Sequence, list[str]]] = [
    ("A", ["new, until somebody acknowledges it", "acknowledged"]),
    ("M", ["new, until somebody acknowledges it", "acknowledged"]),
    (
        "R",
        [
            "new, until somebody acknowledges it",
            "acknowledged",
            "over, until somebody resets it",
        ],
    ),
]


@pytest.mark.parametrize(("sequence", "whens"), LOOKS)
def test_an_alarm_s_scene_has_the_looks_of_its_sequence(
    sequence: Sequence, whens: list[str]
) -> None:
    """Flashing fast, then as it is, then slowly (ISA-18.1)."""
    alarm = replace(SITE.alarms["broken"], sequence=sequence)
    told = meaning(replace(SITE, alarms={**SITE.alarms, "broken": alarm}), "trouble")
    assert [when for when, _ in told.looks] == whens
    assert [look.effect for _, look in told.looks] == ["flash", "steady", "flash"][: len(whens)]
    assert [look.rate for _, look in told.looks][2:] == ["slow"][: len(whens) - 2]


def test_looks_that_are_alike_are_one() -> None:
    """A scene that flashes at the normal rate anyway; without a choice nothing is said."""
    flash = replace(SITE.scenes["trouble"], effect="flash", rate="normal")
    site = replace(SITE, scenes={**SITE.scenes, "trouble": flash})
    assert meaning(site, "trouble").looks == (("", flash),)
    assert meaning(SITE, "ready").looks == (("", SITE.scenes["ready"]),)


def test_a_scene_with_and_without_an_alarm_says_so() -> None:
    """Its own look is what an acknowledged one has too."""
    wall = SITE.tables["wall"]
    rows: tuple[Row, ...] = tuple(
        replace(r, show="feed-me") if r.name == "stopped" else r for r in wall.rows
    )
    site = replace(SITE, tables={**SITE.tables, "wall": replace(wall, rows=rows)})
    assert [when for when, _ in meaning(site, "feed-me").looks] == [
        "new, until somebody acknowledges it",
        "acknowledged, or without an alarm",
    ]


@pytest.mark.parametrize("says", get_args(Says))
def test_whatever_a_scene_says_has_a_sentence(says: Says) -> None:
    """And what is to be done."""
    assert all(SENTENCES[says])
