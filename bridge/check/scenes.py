"""Which scenes can show on a segment."""

from __future__ import annotations

from bridge.engine.site import Segment, Site


def scenes_of(site: Site, segment: Segment) -> tuple[str, ...]:
    """Their names, in the table's order, the resting scene last."""
    if segment.table is None:
        return (segment.resting,)
    table = site.tables[segment.table]
    names = [row.show for row in (*table.rows, table.otherwise)]
    return tuple(dict.fromkeys([*names, segment.resting]))
