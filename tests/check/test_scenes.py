"""Which scenes can show on a segment."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from bridge.check.scenes import answering_scenes, looks_of, scenes_of
from bridge.settings.load import load_site

SITE = load_site(Path(__file__).parents[2] / "config")


def test_a_segment_with_a_table_shows_its_rows_and_its_rest() -> None:
    """Each scene once, in the order of the rules."""
    scenes = scenes_of(SITE, SITE.segments["shelf"])
    table = SITE.tables["wall"]
    assert scenes[:2] == ("trouble", "see-me")
    assert set(scenes) == {row.show for row in (*table.rows, table.otherwise)} | {"warm"}
    assert len(scenes) == len(set(scenes))


def test_a_segment_of_its_own_shows_its_rest_only() -> None:
    """Nobody drives it."""
    quiet = replace(SITE, alarms={})
    assert scenes_of(quiet, SITE.segments["shelf-lamp"]) == ("dark",)


def test_a_segment_that_carries_an_alarm_shows_its_scene_too() -> None:
    """When it escalates, for one."""
    assert scenes_of(SITE, SITE.segments["shelf-lamp"]) == ("trouble", "dark")


def test_alarms_show_their_scene_in_several_looks() -> None:
    """Only where they do, and only looks that differ."""
    looks = dict(looks_of(SITE, SITE.segments["shelf-lamp"]))
    assert list(looks) == ["trouble", "trouble, unacknowledged", "trouble, returned", "dark"]
    assert looks["trouble, unacknowledged"].effect == "flash"
    shelf = dict(looks_of(SITE, SITE.segments["shelf"]))
    assert "feed-me, unacknowledged" in shelf
    assert "filling, unacknowledged" not in shelf


def test_scenes_that_answer_show_for_an_alarm() -> None:
    """By a rule, or carried; those of other rules and of rest do not."""
    assert answering_scenes(SITE) == {"trouble", "see-me", "feed-me"}
    carried = {name: each for name, each in SITE.segments.items() if name == "shelf-lamp"}
    assert answering_scenes(replace(SITE, segments=carried)) == {"trouble"}
