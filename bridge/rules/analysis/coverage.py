"""What a table leaves out, and rows that add nothing to it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from bridge.rules.analysis.boxes import Point, UndecidedError
from bridge.rules.analysis.deciding import Deciding, blocking, unknown_where
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.relations import rows_in
from bridge.rules.analysis.space import Place
from bridge.rules.table import Row, Table


def gaps(deciding: Deciding) -> Iterator[TableFinding]:
    """A situation that no row is for: with all that is offered known, and with less known."""
    space = deciding.space
    row, name = space.table.otherwise, space.offer.name
    for kind, ask in ((Kind.GAP, deciding.gap), (Kind.GAP_OF_UNKNOWN, deciding.gap_of_unknown)):
        if kind is Kind.GAP_OF_UNKNOWN and not space.may_be_unknown:
            continue
        try:
            point = ask()
        except UndecidedError:
            yield TableFinding(Kind.NOT_DECIDED, row, offer=name, word=kind.value)
            continue
        if point is not None:
            facts = space.situation(point)
            yield TableFinding(kind, row, offer=name, situation=facts, offered=space.offered)


def never_deciding(
    table: Table, used: Sequence[Deciding], every: Callable[[], Deciding]
) -> Iterator[TableFinding]:
    """Rows that decide for no reader in use, with the row above that holds them.

    ``every`` gives the questions for the reader of all readers, which most tables do not need.
    """
    for number, row in enumerate(table.rows):
        try:
            if any(_decides(deciding, number) for deciding in used or [every()]):
                continue
            yield _held(every(), row, number) or _never(every(), row, number, is_used=bool(used))
        except UndecidedError:
            yield TableFinding(Kind.NOT_DECIDED, row, word=Kind.MASKED.value)


def _decides(deciding: Deciding, written: int) -> bool:
    """Whether a row, or its copy that cuts in, decides anywhere."""
    places = places_of(deciding, written)
    return any(deciding.situation(place) is not None for place in places)


def places_deciding(deciding: Deciding) -> Iterator[Place]:
    """The places that decide somewhere, as far as is known."""
    for place in deciding.space.places:
        try:
            if deciding.situation(place) is not None:
                yield place
        except UndecidedError:
            yield place


def places_of(deciding: Deciding, written: int) -> list[Place]:
    """A row's places among the rows as they are read: its copy that cuts in first."""
    numbers = (n for n, each in enumerate(deciding.space.written) if each == written)
    return [deciding.by_number[n] for n in numbers if n in deciding.by_number]


def _held(every: Deciding, row: Row, written: int) -> TableFinding | None:
    """One row above that is true wherever this one is."""
    relations, number = every.relations, every.space.cutting_in + written
    for first in rows_in(relations.held_by[number] & ((1 << number) - 1)):
        place = every.by_number[first]
        kind = Kind.MASKED
        if frozenset(place.row.tested) == frozenset(row.tested):
            kind = Kind.IDENTICAL
        elif relations.held_by[first] >> number & 1:
            kind = Kind.EQUIVALENT
        return TableFinding(kind, row, place.row)
    return None


def _never(every: Deciding, row: Row, number: int, *, is_used: bool) -> TableFinding:
    """Several rows above, or nothing that the readers in use can bring about."""
    if not is_used:
        return TableFinding(Kind.MASKED, row)
    try:
        is_possible = _decides(every, number)
    except UndecidedError:
        # That it never decides for these readers is proved; why, does not matter as much.
        is_possible = True
    return TableFinding(Kind.NEVER_FOR_READERS if is_possible else Kind.MASKED, row)


def subsumed(table: Table, used: Sequence[Deciding]) -> Iterator[TableFinding]:
    """Rows without which the same scenes would show, for every reader in use."""
    for number, row in enumerate(table.rows):
        try:
            if not any(
                _matters(deciding, place)
                for deciding in used
                for place in places_of(deciding, number)
            ):
                yield TableFinding(Kind.SUBSUMED, row)
        except UndecidedError:
            yield TableFinding(Kind.NOT_DECIDED, row, word=Kind.SUBSUMED.value)


def _matters(deciding: Deciding, place: Place) -> bool:
    return without(deciding, place) is not None or _holds_comfort_back(deciding, place)


def without(deciding: Deciding, place: Place, *, by_case: bool = False) -> Point | None:
    """Where the row decides, and another scene would show if it, and its copy, were not there.

    With ``by_case`` scenes are told apart as a case does it, by their names; else the same scene
    answers otherwise for another alarm.
    """
    space = deciding.space
    meeting = deciding.relations.meets[place.number] >> place.number + 1 << place.number + 1
    below = [deciding.by_number[number] for number in rows_in(meeting)]
    between: list[Place] = []
    for other in (*below, space.otherwise):
        if other.row is place.row:
            continue
        if other.row.show != place.row.show or not (by_case or same_answer(other, place)):
            boxes = [each.true for each in between]
            point = deciding.situation(place, other.true, boxes)
            if point is not None:
                return point
        between.append(other)
    return None


def same_answer(one: Place, other: Place) -> bool:
    """Whether the scenes of two rows answer the same alarm, or none."""
    return one.row.alarm == other.row.alarm


def _holds_comfort_back(deciding: Deciding, place: Place) -> bool:
    """Whether a row that would reassure waits for this one alone to be known."""
    space = deciding.space
    for part in unknown_where(space, place):
        for other in space.places:
            if other.number <= place.number or other.hopeless or not other.comfortable:
                continue
            deciding.budget.spend(1 + other.number // 16)
            boxes = [
                box
                for each in space.places
                if each.number < other.number and each.row is not place.row
                for box in blocking(space, each)
            ]
            if deciding.anywhere(part.meet(other.true), boxes) is not None:
                return True
    return False
