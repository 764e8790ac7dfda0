"""All findings about a site."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.accepting import with_accepted
from bridge.check.alarms import alarm_findings
from bridge.check.bodies import size_findings
from bridge.check.dimming import dimming_findings
from bridge.check.expects import expect_findings
from bridge.check.finding import Finding, Kind
from bridge.check.legibility import legibility_findings
from bridge.check.lying import lying_findings
from bridge.check.moving import moving_findings
from bridge.check.power import power_findings
from bridge.check.scenes import looks_of, scenes_of
from bridge.check.sharing import sharing_findings
from bridge.check.tables import table_findings
from bridge.engine.offered import offered_by
from bridge.engine.site import Site, facts_read
from bridge.facts.values import Unknown, Why
from bridge.lights.desire import Kept, choose_look
from bridge.lights.dialect.dialect import Dialect
from bridge.rules.conditions import LOCAL_TIME
from bridge.rules.table import Source


def findings(site: Site) -> tuple[Finding, ...]:
    """Everything found, by file and line."""
    found = [
        *(each for table in site.tables.values() for each in expect_findings(table)),
        *table_findings(site),
        *alarm_findings(site),
        *_scenes_not_whole(site),
        *size_findings(site),
        *moving_findings(site),
        *lying_findings(site),
        *power_findings(site),
        *dimming_findings(site),
        *legibility_findings(site),
        *sharing_findings(site),
        *_facts_not_offered(site),
        *_no_read_back(site),
        *_scenes_not_used(site),
    ]
    once = dict.fromkeys(with_accepted(found, site.accepted))
    return tuple(sorted(once, key=lambda each: (each.source.file, each.source.line, each.message)))


def _scenes_not_whole(site: Site) -> Iterator[Finding]:
    dialects = {name: Dialect(grammar) for name, grammar in site.dialects.items()}
    for segment in site.segments.values():
        dialect = dialects[site.controllers[segment.controller].dialect]
        lost: dict[Kept, list[str]] = {}
        for name, scene in looks_of(site, segment):
            kept = choose_look(
                scene, dialect, segment.place, {"progress": Unknown(Why.NOT_HEARD)}
            ).kept
            if kept is not Kept.WHOLE:
                lost.setdefault(kept, []).append(name)
        for kept, names in lost.items():
            yield Finding(
                Kind.SCENE_NOT_WHOLE,
                "error" if kept is Kept.NOTHING else "warning",
                segment.source,
                f"segment {segment.name} on {segment.controller} ({dialect.name}): "
                f"{', '.join(names)} {kept.value}",
                about=(("segment", segment.name),),
            )


def _facts_not_offered(site: Site) -> Iterator[Finding]:
    for segment in site.segments.values():
        if segment.table is None:
            continue
        table = site.tables[segment.table]
        for printer in segment.printers:
            reader = site.printers[printer].reader
            never = facts_read(site, table) - offered_by(site, reader) - {LOCAL_TIME}
            if never:
                yield Finding(
                    Kind.FACT_NOT_OFFERED,
                    "note",
                    segment.source,
                    f"segment {segment.name}: the reader {reader.name} of {printer} never offers "
                    f"{', '.join(sorted(never))}, so rules and gauges of table {table.name} "
                    "that need it do not act for this printer",
                    about=(("segment", segment.name), ("reader", reader.name)),
                )


def _no_read_back(site: Site) -> Iterator[Finding]:
    for name, grammar in site.dialects.items():
        if grammar.read is None and any(c.dialect == name for c in site.controllers.values()):
            yield Finding(
                Kind.NO_READ_BACK,
                "warning",
                Source(f"dialects/{name}.yaml", 1, 1),
                f"dialect {name} has no read: a controller that restarts or is changed by "
                "somebody else is noticed only when it stops answering",
                about=(("dialect", name),),
            )


def _scenes_not_used(site: Site) -> Iterator[Finding]:
    used = {site.off_watch}
    for segment in site.segments.values():
        used.update(scenes_of(site, segment))
    for table in site.tables.values():
        used.update(row.show for row in (*table.rows, table.otherwise))
    for name in site.scenes:
        if name not in used:
            yield Finding(
                Kind.SCENE_NOT_USED,
                "note",
                Source("legend.yaml", 1, 1),
                f"scene {name} is shown by no table and no segment",
                about=(("scene", name),),
            )
