"""What a compiled site says of itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.engine.site import Segment, facts_read, segments_named
from bridge.lights.place import Place
from tests.engine.workroom import workroom


def test_a_table_reads_its_conditions_and_its_gauges() -> None:
    """What it reads decides what is decided anew, and what is found with every message."""
    site = workroom()
    assert facts_read(site, site.tables["wall"]) == {"reasons", "stale", "state", "progress"}


def test_a_scene_that_is_no_gauge_reads_nothing() -> None:
    """Its source is only a default."""
    site = workroom()
    steady = {name: replace(scene, effect="steady") for name, scene in site.scenes.items()}
    read = facts_read(replace(site, scenes=steady), site.tables["wall"])
    assert read == {"reasons", "stale", "state"}


def test_the_texts_of_the_files_are_in_no_repr() -> None:
    """They are long, and a log is no place for them."""
    assert "zone: UTC" not in repr(workroom())


ROOM = replace(
    workroom(),
    segments={
        name: Segment(name, "door", Place(name, 1, 9 * first, 9), "dark")
        for first, name in enumerate(["sill", "frame", "lamp", "beam"])
    },
    sets={"window": ("lamp", "sill"), "dark ones": ("beam",)},
)


@pytest.mark.parametrize(
    ("names", "segments"),
    [
        ([], ()),
        (["lamp"], ("lamp",)),
        (["window"], ("sill", "lamp")),
        (["lamp", "beam", "window", "lamp"], ("sill", "lamp", "beam")),
        (["all"], ("sill", "frame", "lamp", "beam")),
        (["frame", "all"], ("sill", "frame", "lamp", "beam")),
    ],
)
def test_segments_go_by_their_names_and_those_of_sets(
    names: list[str], segments: tuple[str, ...]
) -> None:
    """Each once, in the site's order, and ``all`` is always there."""
    assert segments_named(ROOM, names) == segments


def test_a_name_of_nothing_is_told() -> None:
    """Who holds a set that is misspelt must not be told that it is held."""
    with pytest.raises(KeyError, match="widow"):
        segments_named(ROOM, ["lamp", "widow"])
