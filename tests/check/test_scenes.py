"""Which scenes can show on a segment."""

from __future__ import annotations

from pathlib import Path

from bridge.check.scenes import scenes_of
from bridge.settings.load import load_site

SITE = load_site(Path(__file__).parents[2] / "config")


def test_a_segment_with_a_table_shows_its_rows_and_its_rest() -> None:
    """Each scene once, in the order of the rules."""
    scenes = scenes_of(SITE, SITE.segments["shelf"])
    table = SITE.tables["wall"]
    assert scenes[:2] == ("feed-me", "trouble")
    assert set(scenes) == {row.show for row in (*table.rows, table.otherwise)} | {"warm"}
    assert len(scenes) == len(set(scenes))


def test_a_segment_of_its_own_shows_its_rest_only() -> None:
    """Nobody drives it."""
    assert scenes_of(SITE, SITE.segments["shelf-lamp"]) == ("dark",)
