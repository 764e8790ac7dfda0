"""All situations that a reader can bring about, as a table sees them, and its rows there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce

from bridge.facts.values import FactValue, Reason, Reasons, Severity
from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.analysis.axes import LOST, Axis, axis_of, reasons_axis
from bridge.rules.analysis.boxes import Box, Frame, Point
from bridge.rules.analysis.offers import LASTED, TIME_OF_DAY, Offer, World, reasons_offered
from bridge.rules.clauses import Clause, Needs, ReasonTest, needs_of
from bridge.rules.conditions import LOCAL_TIME, Condition, ReasonsHave, SeverityAtLeast
from bridge.rules.decision import ALWAYS_OFFERED
from bridge.rules.table import Row, Table


@dataclass(frozen=True, slots=True)
class Place:
    """A row in the space: where it is true, and where it is unknown.

    ``row`` is as it was written, also where this place is the copy of it that cuts in. ``number``
    is its place among the rows as they are read.
    ``sets`` are the atoms at which it is true and ``open`` those at which it is unknown, by axis;
    ``hopeless``: a fact that is never
    offered keeps it from ever being true, though it may still be unknown of an offered one.
    """

    row: Row
    number: int
    true: Box
    sets: tuple[int, ...]
    open: tuple[int, ...]
    hopeless: bool = False

    @property
    def comfortable(self) -> bool:
        """Whether its scene would reassure."""
        return self.row.says in COMFORTABLE

    @property
    def possible(self) -> tuple[int, ...]:
        """The atoms by axis at which it is not false."""
        return tuple([a | b for a, b in zip(self.sets, self.open, strict=True)])


class Space:
    """The axes of a table for one offer, and its rows that are not always false there."""

    def __init__(self, table: Table, offer: Offer) -> None:
        self.table, self.offer = table, offer
        tested: dict[str, list[Condition]] = {}
        for row in table.expanded:
            for condition in row.tested:
                tested.setdefault(condition.fact, []).append(condition)
        lasting = {row.lasting.fact for row in table.rows if row.lasting}
        self.offered = offer.facts | ALWAYS_OFFERED | lasting
        own = {**dict.fromkeys(lasting, LASTED), LOCAL_TIME: TIME_OF_DAY}
        self._values = {**offer.values, **{fact: own[fact] for fact in own if fact in tested}}
        self.axes = tuple(
            self._axis(fact, conditions)
            for fact, conditions in tested.items()
            if fact in self._values
        )
        self._index = {axis.fact: n for n, axis in enumerate(self.axes)}
        #: One reason for each kind of reason that the rows tell apart.
        self.reasons = self._kinds_of_reasons(
            [row.tested for row in table.expanded],
            {each for condition in tested.values() for each in _keywords(condition)},
        )
        self.frame = Frame([len(axis.values) for axis in self.axes])
        self.written = written_rows(table)
        places = (self._place(n, row) for n, row in enumerate(table.expanded))
        self.places = tuple(place for place in places if place is not None)
        every = tuple([axis.every for axis in self.axes])
        self.otherwise = Place(
            table.otherwise, len(table.expanded), self.frame.every, every, (0,) * len(every)
        )

    def _axis(self, fact: str, conditions: Sequence[Condition]) -> Axis:
        counts = fact in self.offered
        if _is_of_reasons(conditions):
            return reasons_axis(fact, counts=counts, may_be_more=self._values[fact].unknown)
        return axis_of(fact, self._values[fact], conditions, counts=counts)

    @property
    def cutting_in(self) -> int:
        """How many of the rows as they are read are copies that cut in; they stand first."""
        return len(self.table.expanded) - len(self.table.rows)

    @property
    def may_be_unknown(self) -> bool:
        """Whether anything that the rows test can be unknown."""
        return any(axis.unknown for axis in self.axes)

    def index_of(self, fact: str) -> int | None:
        """The number of a fact's axis."""
        return self._index.get(fact)

    def region(self, world: World, *, known: bool = False) -> Box:
        """The situations of a world; with ``known``, those with all known that is offered."""
        sets = []
        for axis in self.axes:
            atoms = axis.known if known else axis.every
            if axis.fact in world.fixed:
                atoms &= axis.where(world.fixed[axis.fact])
            if axis.fact in world.lost:
                atoms &= axis.unknown
            if axis.fact in world.unsaid:
                atoms &= ~axis.where(world.unsaid[axis.fact])
            sets.append(atoms)
        return Box(self.frame.pack(sets))

    def situation(self, point: Point, also: Iterable[Reason] = ()) -> dict[str, FactValue]:
        """A point as facts, just as the matcher takes them."""
        facts: dict[str, FactValue] = {}
        for axis, atom in zip(self.axes, point.atoms, strict=True):
            if axis.reasons:
                known = {reason for n, reason in enumerate(self.reasons) if point.reasons >> n & 1}
                there = tuple(sorted({*known, *also}))
                facts[axis.fact] = Reasons(there, LOST if axis.values[atom] is LOST else None)
            else:
                facts[axis.fact] = axis.values[atom]
        return facts

    def kind_of(self, clauses: Sequence[Clause], reason: Reason) -> tuple[bool, ...]:
        """What tells a reason from others: the clauses that it hits."""
        return tuple([clause.hit_by(reason) for clause in clauses])

    def bits_of(self, clause: Clause) -> int:
        """The kinds of reasons that hit a clause."""
        return sum(1 << n for n, reason in enumerate(self.reasons) if clause.hit_by(reason))

    def _kinds_of_reasons(
        self, rows: Sequence[Sequence[Condition]], named: set[str]
    ) -> tuple[Reason, ...]:
        #: Every clause that a row has, and those beside them that a row refuses.
        self.wanted, refused = _clauses(rows)
        self.clauses = (*self.wanted, *refused)
        self.all_reasons = tuple(sorted(self._reasons_offered(named), key=_gravest_first))
        kinds: dict[tuple[bool, ...], Reason] = {}
        for reason in self.all_reasons:
            kinds.setdefault(self.kind_of(self.clauses, reason), reason)
        return tuple(reason for kind, reason in kinds.items() if any(kind))

    def _reasons_offered(self, named: set[str]) -> set[Reason]:
        found: set[Reason] = set()
        for axis in self.axes:
            if axis.reasons:
                found |= reasons_offered(self.offer, named)
        return found

    def _place(self, number: int, row: Row) -> Place | None:
        true = [axis.every for axis in self.axes]
        open_ = [0] * len(self.axes)
        clauses: list[int] = []
        refused = 0
        hopeless = False
        for fact, conditions in _by_fact(row.tested).items():
            index = self._index.get(fact)
            if index is None:
                here, hopeless_here = _never_offered(conditions)
                if not here:
                    return None
                hopeless = hopeless or hopeless_here
            elif self.axes[index].reasons:
                needs = needs_of(_reason_tests(conditions))
                clauses.extend(self.bits_of(clause) for clause in needs.clauses)
                if needs.refused is not None:
                    refused |= self.bits_of(needs.refused)
                true[index], open_[index] = _when_open(self.axes[index], needs)
            else:
                true[index], open_[index] = _judged(self.axes[index], conditions)
        box = Box(self.frame.pack(true), tuple(dict.fromkeys(clauses)), refused)
        written = self.table.rows[self.written[number]]
        return Place(written, number, box, tuple(true), tuple(open_), hopeless)


def written_rows(table: Table) -> tuple[int, ...]:
    """For each row as it is read, the number of the row as written."""
    copies = [number for number, row in enumerate(table.rows) if row.alarm is not None]
    return (*copies, *range(len(table.rows)))


def _judged(axis: Axis, conditions: Iterable[Condition]) -> tuple[int, int]:
    """Where all conditions are true, and where some are unknown and none is false."""
    judged = [axis.judged(condition) for condition in conditions]
    true = reduce(lambda sofar, each: sofar & each[0], judged, axis.every)
    possible = reduce(lambda sofar, each: sofar & (each[0] | each[1]), judged, axis.every)
    return true, possible & ~true


def _when_open(axis: Axis, needs: Needs) -> tuple[int, int]:
    """A row that refuses is not true before all reasons are known; any can be unknown."""
    asks = bool(needs.clauses) or needs.refused is not None
    return (axis.every if needs.refused is None else axis.known), (axis.unknown if asks else 0)


def _never_offered(conditions: Iterable[Condition]) -> tuple[bool, bool]:
    """Of a fact that is always unknown: whether a row is not false by it, and if it is unknown."""
    judged = [Axis("", (LOST,)).judged(c) if not _is_reason_test(c) else (0, 1) for c in conditions]
    return all(true | open_ for true, open_ in judged), any(open_ for _, open_ in judged)


def _by_fact(conditions: Iterable[Condition]) -> dict[str, list[Condition]]:
    by_fact: dict[str, list[Condition]] = {}
    for condition in conditions:
        by_fact.setdefault(condition.fact, []).append(condition)
    return by_fact


def _is_reason_test(condition: Condition) -> bool:
    return isinstance(condition, ReasonsHave | SeverityAtLeast)


def _is_of_reasons(conditions: Iterable[Condition]) -> bool:
    return any(map(_is_reason_test, conditions))


def _reason_tests(conditions: Iterable[Condition]) -> list[ReasonTest]:
    return [each for each in conditions if isinstance(each, ReasonsHave | SeverityAtLeast)]


def _clauses(
    rows: Iterable[Iterable[Condition]],
) -> tuple[tuple[Clause, ...], tuple[Clause, ...]]:
    """Every clause that a row has, and every one that a row refuses, once."""
    wanted: dict[Clause, None] = {}
    refused: dict[Clause, None] = {}
    for when in rows:
        for tests in _by_fact(when).values():
            needs = needs_of(_reason_tests(tests))
            wanted.update(dict.fromkeys(needs.clauses))
            if needs.refused is not None:
                refused[needs.refused] = None
    return tuple(wanted), tuple(refused)


def _keywords(conditions: Iterable[Condition]) -> Iterable[str]:
    for condition in conditions:
        if isinstance(condition, ReasonsHave):
            yield from (keyword.keyword for keyword in condition.keywords)


def _gravest_first(reason: Reason) -> tuple[int, str, str]:
    return Severity.ERROR.value - reason.severity.value, reason.keyword, reason.said
