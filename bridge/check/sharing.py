"""Segments that several printers share: what the lights cannot do of it, and what it would hide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from bridge.check.finding import Finding, Kind, about_table
from bridge.engine.site import Segment, Site
from bridge.facts.vocabulary import COMFORTABLE
from bridge.lights.desire import Kept, choose_mark, choose_split
from bridge.lights.dialect.dialect import Dialect
from bridge.rules.sharing import LEAST_MS, MARK_MS, turn_length_ms
from bridge.rules.table import Row, Table

#: Whoever waits longer for a printer's turn turns round instead.
LONGEST_ROUND_MS: Final = 30_000


def sharing_findings(site: Site) -> Iterator[Finding]:
    """Of every segment with several printers, and of the tables that such segments show."""
    dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
    shared = [each for each in site.segments.values() if each.table and len(each.printers) > 1]
    for segment in shared:
        dialect = dialects[site.controllers[segment.controller].dialect]
        yield from _not_painted(site, segment, dialect)
        if segment.share == "rotate":
            yield from _slow_round(segment)
    for table in site.tables.values():
        showing = [each for each in shared if each.table == table.name and each.share == "worst"]
        if showing:
            yield from _hidden(table, showing)


def _not_painted(site: Site, segment: Segment, dialect: Dialect) -> Iterator[Finding]:
    who = f"segment {segment.name} on {segment.controller} ({dialect.name})"
    kept = _kept(site, segment, dialect)
    if kept is not Kept.WHOLE:
        yield Finding(
            Kind.NOT_SHARED,
            "warning",
            segment.source,
            f"{who}: share: {segment.share} {kept.value}; write share: worst, or put it on a "
            "controller that can",
            about=(("segment", segment.name),),
        )


def _kept(site: Site, segment: Segment, dialect: Dialect) -> Kept:
    """Whether it can be shared so at all, as the engine finds out."""
    of = len(segment.printers)
    if segment.share == "split":
        return choose_split([(site.scenes[segment.resting], {})] * of, dialect, segment.place).kept
    if segment.share == "rotate":
        return choose_mark(1, of, dialect, segment.place).kept
    return Kept.WHOLE


def _slow_round(segment: Segment) -> Iterator[Finding]:
    of = len(segment.printers)
    round_ms = of * turn_length_ms(segment.dwell_ms)
    if round_ms <= LONGEST_ROUND_MS:
        return
    each_ms = LONGEST_ROUND_MS // of - MARK_MS
    remedy = (
        f"write each: {each_ms // 1000}s or less" if each_ms >= LEAST_MS else "write share: worst"
    )
    yield Finding(
        Kind.SLOW_ROUND,
        "warning",
        segment.source,
        f"segment {segment.name}: {of} printers with {MARK_MS / 1000:g} s for the mark and "
        f"{segment.dwell_ms / 1000:g} s for the scene of each take {round_ms / 1000:g} s for a "
        f"round, more than {LONGEST_ROUND_MS // 1000} s, and nobody looks that long; {remedy}",
        about=(("segment", segment.name),),
    )


def _hidden(table: Table, showing: Sequence[Segment]) -> Iterator[Finding]:
    """Rows below one that reassures: what they say of one printer, another that is well hides."""
    names = " and ".join(segment.name for segment in showing)
    above: Row | None = None
    for row in table.rows:
        if row.says in COMFORTABLE:
            above = above or row
        elif above is not None:
            one, other = showing[0].printers[:2]
            yield Finding(
                Kind.HIDDEN,
                "note" if row.says == "notice" else "warning",
                row.source,
                f"table {table.name}: rule '{row.name}' says {row.says} and stands below "
                f"'{above.name}', which says {above.says}: where {names} "
                f"show{'s' if len(showing) == 1 else ''} the worst of several printers, one for "
                f"which '{above.name}' decides hides it; move it up",
                f"'{above.name}' decides for {one} and '{row.name}' for {other}",
                about_table(table, row.name, above.name),
            )
