"""Would anybody notice: rows that can be taken away or moved without a case that then fails."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bridge.facts.values import Facts
from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.analysis.boxes import Point, UndecidedError
from bridge.rules.analysis.coverage import without
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.relations import rows_in
from bridge.rules.analysis.space import Place, written_rows
from bridge.rules.table import Row, Table


@dataclass(frozen=True, slots=True)
class _Case:
    true: int
    unsure: int
    decides: int
    shown: str


class Cases:
    """The situations of a table's cases, judged once."""

    def __init__(self, table: Table, situations: Sequence[Facts]) -> None:
        self._table = table
        self._cases = [self._judged(facts) for facts in situations]
        self._written = written_rows(table)
        self._copy = {row: n for n, row in reversed([*enumerate(self._written)])}
        #: The numbers, as written, of the rows that decide a case.
        self.deciding = {
            self._written[case.decides] if case.decides >= 0 else -1 for case in self._cases
        }

    def _judged(self, facts: Facts) -> _Case:
        offered = frozenset(facts)
        true, unsure = self._table.compiled.judged(facts, offered)
        decision = self._table.compiled.decide(facts, offered)
        return _Case(true, unsure, decision.position - 1, decision.row.show)

    def notice(self, order: Sequence[int], moved: int) -> bool:
        """Whether some case shows another scene with the rows, as written, in this order."""
        places = 1 << self._copy[moved] | 1 << self._last(moved)
        return any(
            self._shown(case, order).show != case.shown
            for case in self._cases
            if (case.true | case.unsure) & places
        )

    def _last(self, written: int) -> int:
        return len(self._written) - len(self._table.rows) + written

    def _shown(self, case: _Case, order: Sequence[int]) -> Row:
        unsure = False
        cutting_in = [self._copy[each] for each in order if self._copy[each] != self._last(each)]
        for number in (*cutting_in, *map(self._last, order)):
            row = self._table.expanded[number]
            if case.true >> number & 1 and not (unsure and row.says in COMFORTABLE):
                return row
            unsure = unsure or bool(case.unsure >> number & 1)
        return self._table.otherwise


def not_noticed(
    deciding: Deciding, cases: Cases, told: set[tuple[str, str]]
) -> Iterator[TableFinding]:
    """Rows whose loss, or whose move past the nearest row that matters, no case notices.

    Of a row that decides no case at all nothing more need be said.
    """
    for place in deciding.space.places:
        if deciding.space.written[place.number] not in cases.deciding:
            continue
        try:
            yield from _of_row(deciding, cases, place, told)
        except UndecidedError:
            yield TableFinding(Kind.NOT_DECIDED, place.row, word=Kind.NOT_TOLD_APART.value)


def _of_row(
    deciding: Deciding, cases: Cases, place: Place, told: set[tuple[str, str]]
) -> Iterator[TableFinding]:
    rows, written = list(range(len(deciding.space.table.rows))), deciding.space.written
    moved = written[place.number]
    taken = [number for number in rows if number != moved]
    if (place.row.name, "") not in told and not cases.notice(taken, moved):
        point = without(deciding, place, by_case=True)
        if point is not None:
            told.add((place.row.name, ""))
            yield _finding(Kind.NOT_NOTICED, deciding, place.row, None, point)
    for other, point in (_nearest_below(deciding, place), _nearest_above(deciding, place)):
        if other is None or point is None:
            continue
        pair = (place.row.name, other.row.name)
        order = _moved(rows, moved, written[other.number])
        if pair in told or pair[::-1] in told or cases.notice(order, moved):
            continue
        told.add(pair)
        yield _finding(Kind.NOT_TOLD_APART, deciding, place.row, other.row, point)


def _finding(
    kind: Kind, deciding: Deciding, row: Row, other: Row | None, point: Point
) -> TableFinding:
    space = deciding.space
    facts = space.situation(point)
    return TableFinding(kind, row, other, space.offer.name, facts, offered=space.offered)


def _moved(rows: Sequence[int], number: int, past: int) -> list[int]:
    order = [each for each in rows if each != number]
    order.insert(order.index(past) + (past > number), number)
    return order


_NONE: tuple[None, None] = (None, None)


def _nearest_below(deciding: Deciding, place: Place) -> tuple[Place, Point] | tuple[None, None]:
    """The next row that would show another scene if this one were below it."""
    between: list[Place] = []
    for other in _meeting(deciding, place):
        if other.number < place.number:
            continue
        if other.row.show != place.row.show:
            point = deciding.situation(place, other.true, [each.true for each in between])
            if point is not None:
                return other, point
        between.append(other)
    return _NONE


def _nearest_above(deciding: Deciding, place: Place) -> tuple[Place, Point] | tuple[None, None]:
    """The last row before this one that it would take a situation from if it were above."""
    for other in reversed(_meeting(deciding, place)):
        if other.number < place.number and other.row.show != place.row.show:
            point = deciding.situation(other, place.true)
            if point is not None:
                return other, point
    return _NONE


def _meeting(deciding: Deciding, place: Place) -> list[Place]:
    """The rows that can be true with this one; those that cut in move among themselves only."""
    rows, copies = rows_in(deciding.relations.meets[place.number]), deciding.space.cutting_in
    return [
        deciding.by_number[number]
        for number in rows
        if number != place.number and (number < copies) == (place.number < copies)
    ]
