"""What a compiled site says of itself."""

from __future__ import annotations

from dataclasses import replace

from bridge.engine.site import facts_read
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
