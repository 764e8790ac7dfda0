"""What the lights cannot do of a shared segment, and what a table would hide on one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from bridge.check.finding import Finding, Kind
from bridge.check.sharing import sharing_findings
from bridge.check.site import findings
from bridge.engine.site import Site
from bridge.facts.vocabulary import Says
from bridge.lights.place import Place
from bridge.rules.conditions import SymbolIs
from bridge.rules.table import Row, Source, Table
from bridge.settings.load import load_site

CLUB = load_site(Path(__file__).parents[2] / "config")
HERE = Source("rules.yaml", 9, 9)
OTHERWISE = Row("otherwise", (), "not-known", "unknown", HERE)
BOTH, ALL = ("kestrel", "plover"), ("kestrel", "plover", "heron")


def shared(site: Site = CLUB, name: str = "door-frame", **changed: Any) -> Site:  # noqa: ANN401 - as replace
    """One segment speaks of several printers."""
    segment = replace(site.segments[name], **{"printers": BOTH, **changed})
    return replace(site, segments={**site.segments, name: segment})


def without_paint(site: Site, dialect: str = "bars") -> Site:
    """Its controllers know effects only."""
    grammar = replace(site.dialects[dialect], paint=None)
    return replace(site, dialects={**site.dialects, dialect: grammar})


def of(kind: Kind, site: Site) -> list[Finding]:
    """The findings of one kind."""
    return [each for each in sharing_findings(site) if each.kind is kind]


def test_a_segment_of_one_printer_is_no_matter() -> None:
    """The example site has no other, and a share of one is the whole."""
    assert list(sharing_findings(without_paint(CLUB))) == []


@pytest.mark.parametrize("share", ["worst", "split", "rotate"])
def test_what_paints_can_be_shared_in_every_way(share: str) -> None:
    """And so can what cannot, where only the worst shows."""
    assert of(Kind.NOT_SHARED, shared(share=share)) == []
    assert of(Kind.NOT_SHARED, without_paint(shared(share="worst"))) == []


@pytest.mark.parametrize(
    ("share", "words"),
    [
        ("split", "share: split shows the worst of its printers: the dialect cannot paint pixels"),
        ("rotate", "share: rotate shows the worst of its printers: the dialect cannot paint the"),
    ],
)
def test_what_cannot_be_painted_is_found(share: str, words: str) -> None:
    """It would go on showing the worst, though its owner expects something else."""
    site = without_paint(shared(share=share))
    (found,) = of(Kind.NOT_SHARED, site)
    assert (found.severity, found.source) == ("warning", CLUB.segments["door-frame"].source)
    assert f"segment door-frame on door (bars): {words}" in found.message
    assert found in findings(site)


@pytest.mark.parametrize("share", ["split", "rotate"])
def test_what_is_too_short_is_found(share: str) -> None:
    """Whoever made this site: the settings refuse it, and the lights do not rely on them."""
    (found,) = of(Kind.NOT_SHARED, shared(share=share, place=Place("door-frame", 1, 0, 5)))
    assert "3 pixels" in found.message


ROUNDS = [
    (BOTH, 12_000, None),
    (BOTH, 12_001, "write each: 12s or less"),
    (ALL, 7000, None),
    (ALL, 7001, "write each: 7s or less"),
    (("p1", "p2", "p3", "p4"), 5000, "write each: 4s or less"),
    (("p1", "p2", "p3", "p4", "p5"), 3000, None),
    (("p1", "p2", "p3", "p4", "p5", "p6"), 3000, "write share: worst"),
]


@pytest.mark.parametrize(("printers", "dwell_ms", "remedy"), ROUNDS)
def test_a_round_takes_at_most_thirty_seconds(
    printers: tuple[str, ...], dwell_ms: int, remedy: str | None
) -> None:
    """Each printer's mark of 3 s and its scene; what is longer says how it gets shorter."""
    found = of(Kind.SLOW_ROUND, shared(share="rotate", printers=printers, dwell_ms=dwell_ms))
    assert [each.message.rpartition("; ")[2] for each in found] == ([remedy] if remedy else [])
    # By its segment it can be accepted.
    assert all(each.about == (("segment", "door-frame"),) for each in found)
    assert of(Kind.SLOW_ROUND, shared(share="worst", printers=printers, dwell_ms=dwell_ms)) == []


def table(*rows: tuple[str, Says]) -> Table:
    """Rows by name and what they say, one a line, each for a state of its own name."""
    made = (
        Row(name, (SymbolIs("state", frozenset({name})),), "warm", says, replace(HERE, line=line))
        for line, (name, says) in enumerate(rows, start=1)
    )
    return Table("wall", tuple(made), OTHERWISE)


HIDDEN = [
    (table(("stuck", "trouble"), ("busy", "well"), ("night", "resting")), []),
    (table(("busy", "well"), ("stuck", "trouble")), [(2, "warning", "stuck")]),
    (table(("night", "resting"), ("gone", "unknown")), [(2, "warning", "gone")]),
    (table(("busy", "well"), ("done", "notice")), [(2, "note", "done")]),
    (
        table(("busy", "well"), ("stuck", "act"), ("night", "resting"), ("gone", "unknown")),
        [(2, "warning", "stuck"), (4, "warning", "gone")],
    ),
]


@pytest.mark.parametrize(("wall", "told"), HIDDEN)
def test_what_one_printer_would_hide_of_another_is_found(
    wall: Table, told: list[tuple[int, str, str]]
) -> None:
    """A row that reassures stands above it, and another printer may be there."""
    site = replace(CLUB, tables={"wall": wall})
    found = of(Kind.HIDDEN, shared(site))
    assert [(each.source.line, each.severity) for each in found] == [each[:2] for each in told]
    for each, (_, _, name) in zip(found, told, strict=True):
        assert f"rule '{name}' says" in each.message
        # The first row that reassures: to stand above the nearest one would not be enough.
        assert f"stands below '{wall.rows[0].name}'" in each.message
        assert "where door-frame shows the worst of several printers" in each.message
        assert each.example.endswith(f"decides for kestrel and '{name}' for plover")
    assert of(Kind.HIDDEN, shared(site, share="split")) == []
    assert of(Kind.HIDDEN, site) == []


def test_one_finding_names_all_segments_of_a_table() -> None:
    """The mistake is in the table, once."""
    site = replace(CLUB, tables={"wall": table(("busy", "well"), ("stuck", "trouble"))})
    (found,) = of(Kind.HIDDEN, shared(shared(site), "shelf"))
    assert "where door-frame and shelf show the worst" in found.message
