"""What the files of a site say together: one thing spoilt at a time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.check.finding import Finding, Kind
from bridge.check.site import findings
from bridge.engine.site import Site
from bridge.settings.load import load_site

CLUB = load_site(Path(__file__).parents[2] / "config")


def _without_paint(site: Site) -> Site:
    bars = replace(site.dialects["bars"], paint=None)
    return replace(site, dialects={**site.dialects, "bars": bars})


def _without_effects(site: Site) -> Site:
    bars = replace(site.dialects["bars"], paint=None, effects={})
    return replace(site, dialects={**site.dialects, "bars": bars})


def _without_flash(site: Site) -> Site:
    bars = site.dialects["bars"]
    steady = replace(bars, effects={"steady": bars.effects["steady"]})
    return replace(site, dialects={**site.dialects, "bars": replace(steady, paint=None)})


def _without_read(site: Site) -> Site:
    bars = replace(site.dialects["bars"], read=None)
    return replace(site, dialects={**site.dialects, "bars": bars})


def _with_a_scene_too_many(site: Site) -> Site:
    spare = replace(site.scenes["warm"], name="spare")
    return replace(site, scenes={**site.scenes, "spare": spare})


def _without_a_case(site: Site) -> Site:
    table = site.tables["wall"]
    kept = tuple(each for each in table.expect if each.shows != "trouble")
    tables = {**site.tables, "wall": replace(table, expect=kept)}
    return replace(site, tables=tables)


SPOILT: dict[str, tuple[Callable[[Site], Site], Kind, str, str]] = {
    "no painting": (_without_paint, Kind.SCENE_NOT_WHOLE, "warning", "cannot paint pixels"),
    "nothing to show with": (_without_effects, Kind.SCENE_NOT_WHOLE, "error", "cannot be shown"),
    "no flash": (_without_flash, Kind.SCENE_NOT_WHOLE, "warning", "can neither flash"),
    "no read-back": (_without_read, Kind.NO_READ_BACK, "warning", "dialect bars has no read"),
    "a scene too many": (_with_a_scene_too_many, Kind.SCENE_NOT_USED, "note", "scene spare"),
    "a case too few": (_without_a_case, Kind.RULE_NOT_EXPECTED, "warning", "rule 'broken'"),
}


def _of(kind: Kind, site: Site) -> list[Finding]:
    return [each for each in findings(site) if each.kind is kind]


@pytest.mark.parametrize(("spoil", "kind", "severity", "words"), SPOILT.values(), ids=SPOILT.keys())
def test_what_is_spoilt_is_found(
    spoil: Callable[[Site], Site], kind: Kind, severity: str, words: str
) -> None:
    """And only where it is spoilt."""
    assert not [each for each in _of(kind, CLUB) if words in each.message]
    found = [each for each in _of(kind, spoil(CLUB)) if words in each.message]
    assert found
    assert {each.severity for each in found} == {severity}


def test_a_reader_that_never_offers_what_a_table_reads_is_noted() -> None:
    """Heron gives no reasons: whoever relies on alarms that need them should know."""
    found = _of(Kind.FACT_NOT_OFFERED, CLUB)
    told = [CLUB.segments[name].source for name in ("door-sill", "bench-left")]
    assert [each.source for each in found] == told
    assert "of heron never offers alarm broken, alarm material-out" in found[0].message


def test_findings_come_in_the_order_of_files_and_lines() -> None:
    """As a person mends them."""
    found = findings(_without_a_case(_without_paint(_without_read(CLUB))))
    places = [(each.source.file, each.source.line) for each in found]
    assert places == sorted(places)
    assert len(places) > 2


def test_what_is_left_behind_off_watch_is_used() -> None:
    """Though no table shows it."""
    site = replace(_with_a_scene_too_many(CLUB), off_watch="spare")
    assert not _of(Kind.SCENE_NOT_USED, site)


def test_a_dialect_that_nobody_speaks_is_no_matter() -> None:
    """It lies there for the next controller."""
    spare = replace(CLUB.dialects["bars"], name="spare", read=None)
    site = replace(CLUB, dialects={**CLUB.dialects, "spare": spare})
    assert not _of(Kind.NO_READ_BACK, site)
