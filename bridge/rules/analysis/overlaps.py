"""Rows that meet where neither holds the other, and which of them wins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bridge.facts.vocabulary import GRAVITY, Says, gravity
from bridge.rules.analysis.boxes import UndecidedError
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.relations import rows_in
from bridge.rules.analysis.space import Place
from bridge.rules.table import Table

#: A table that is wrong in more places than this is not mended by a longer list.
MOST_ASKED = 50


def milder_overlaps(deciding: Deciding, told: set[tuple[str, str]]) -> Iterator[TableFinding]:
    """Pairs in which the milder scene wins, but for those that were told already."""
    asked = 0
    graver = _graver(deciding.space.table)
    for place, crossing in crossings(deciding):
        for number in rows_in(crossing & graver[place.row.says]):
            other = deciding.by_number[number]
            pair = (place.row.name, other.row.name)
            if pair in told:
                continue
            asked += 1
            if asked > MOST_ASKED:
                yield _undecided(place, other)
                return
            finding = _milder(deciding, place, other)
            if finding is not None:
                told.add(pair)
                yield finding


def _milder(
    deciding: Deciding, place: Place, other: Place, kind: Kind = Kind.OVERLAP_MILDER
) -> TableFinding | None:
    space = deciding.space
    try:
        point = deciding.situation(place, other.true)
    except UndecidedError:
        return _undecided(place, other)
    if point is None:
        return None
    return TableFinding(
        kind,
        place.row,
        other.row,
        space.offer.name,
        space.situation(point),
        offered=space.offered,
    )


def _undecided(place: Place, other: Place) -> TableFinding:
    return TableFinding(Kind.NOT_DECIDED, place.row, other.row, word=Kind.OVERLAP_MILDER.value)


def graver_overlaps(asked: Sequence[Deciding]) -> Iterator[TableFinding]:
    """How many pairs there are for some reader in which a scene wins that is at least as grave."""
    table = asked[0].space.table
    graver = _graver(table)
    pairs = [0] * len(table.expanded)
    for deciding in asked:
        for place, crossing in crossings(deciding):
            pairs[place.number] |= crossing & ~graver[place.row.says]
    count = sum(map(int.bit_count, pairs))
    if count:
        upper = next(number for number, others in enumerate(pairs) if others)
        lower = table.expanded[rows_in(pairs[upper])[0]]
        yield TableFinding(Kind.OVERLAP, table.expanded[upper], lower, count=count)


def crossings(deciding: Deciding) -> Iterator[tuple[Place, int]]:
    """Each row as written, with those below it that show another scene and that it crosses."""
    shows = _showing(deciding.space.table)
    for place in deciding.space.places:
        crossing = deciding.relations.crossing(place.number) & ~shows[place.row.show]
        if crossing and place.number >= deciding.space.cutting_in:
            yield place, crossing


def cutting_in(deciding: Deciding, told: set[tuple[str, str]]) -> Iterator[TableFinding]:
    """Alarms that hide, until somebody acknowledges them, a graver row that is no alarm's."""
    space = deciding.space
    graver = _graver(space.table)
    for place in space.places[: space.cutting_in]:
        if place.number >= space.cutting_in:
            return
        meeting = deciding.relations.meets[place.number] & graver[place.row.says]
        for other in map(deciding.by_number.__getitem__, rows_in(meeting)):
            pair = (place.row.name, other.row.name)
            if other.number < space.cutting_in or other.row.alarm or pair in told:
                continue
            finding = _milder(deciding, place, other, Kind.CUTS_IN)
            if finding is not None:
                told.add(pair)
                yield finding


def _showing(table: Table) -> dict[str, int]:
    shows: dict[str, int] = {}
    for number, row in enumerate(table.expanded):
        shows[row.show] = shows.get(row.show, 0) | 1 << number
    return shows


def _graver(table: Table) -> dict[Says, int]:
    """By what a scene says, the rows that say something graver."""
    rows = list(enumerate(table.expanded))
    return {
        says: sum(1 << n for n, row in rows if gravity(row.says) > gravity(says))
        for says in GRAVITY
    }
