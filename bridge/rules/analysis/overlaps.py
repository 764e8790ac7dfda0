"""Rows that meet where neither holds the other, and which of them wins."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.facts.vocabulary import gravity
from bridge.rules.analysis.boxes import UndecidedError
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.relations import rows_in
from bridge.rules.analysis.space import Place

#: A table that is wrong in more places than this is not mended by a longer list.
MOST_ASKED = 200


def milder_overlaps(deciding: Deciding, told: set[tuple[str, str]]) -> Iterator[TableFinding]:
    """Pairs in which the milder scene wins, but for those that were told already."""
    asked = 0
    for place, other in crossing_pairs(deciding):
        pair = (place.row.name, other.row.name)
        if gravity(place.row.says) >= gravity(other.row.says) or pair in told:
            continue
        asked += 1
        if asked > MOST_ASKED:
            yield TableFinding(
                Kind.NOT_DECIDED, place.row, other.row, word=Kind.OVERLAP_MILDER.value
            )
            return
        finding = _milder(deciding, place, other)
        if finding is not None:
            told.add(pair)
            yield finding


def _milder(deciding: Deciding, place: Place, other: Place) -> TableFinding | None:
    space = deciding.space
    try:
        point = deciding.situation(place, other.true)
    except UndecidedError:
        return TableFinding(Kind.NOT_DECIDED, place.row, other.row, word=Kind.OVERLAP_MILDER.value)
    if point is None:
        return None
    return TableFinding(
        Kind.OVERLAP_MILDER,
        place.row,
        other.row,
        space.offer.name,
        space.situation(point),
        offered=space.offered,
    )


def graver_overlaps(deciding: Deciding) -> Iterator[tuple[str, str]]:
    """The names of the pairs in which another scene wins that is at least as grave."""
    for place, other in crossing_pairs(deciding):
        if gravity(place.row.says) >= gravity(other.row.says):
            yield place.row.name, other.row.name


def crossing_pairs(deciding: Deciding) -> Iterator[tuple[Place, Place]]:
    """Pairs that show unlike scenes in the same situation, neither holding the other."""
    for place in deciding.space.places:
        for number in rows_in(deciding.relations.crossing(place.number)):
            other = deciding.by_number[number]
            if other.row.show != place.row.show:
                yield place, other
