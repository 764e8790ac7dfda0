"""Completeness: is there a situation that no row holds? Column by column, with memory.

A state is the set of rows that are still possible (a bit each) and the axes that are left. The
axis that the most of them ask about is split first; a row that asks nothing more holds all that is
left. Two paths that leave the same rows possible are searched once. The reasons come last, as
boxes of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from typing import Final

from bridge.rules.analysis.boxes import Box, Budget, Frame, Point

_ONLY_REASONS: Final = Frame(())


class Splitting:
    """One search in one region."""

    def __init__(self, frame: Frame, region: Box, boxes: Sequence[Box], budget: Budget) -> None:
        near = [box for box in boxes if not frame.is_empty(region.meet(box))]
        self._boxes, self._region, self._frame, self._budget = near, region, frame, budget
        self._rows = (1 << len(near)) - 1
        self._covered: set[tuple[int, int]] = set()
        #: By axis: the atoms of the region, each with the rows that are possible there.
        self._atoms = [
            _rows_by_atom(frame.atoms(region, axis), [frame.atoms(box, axis) for box in near])
            for axis in frame.axes
        ]
        #: By axis: the rows that do not ask about it.
        self._free = [
            _bits(not frame.atoms(region, axis) & ~frame.atoms(box, axis) for box in near)
            for axis in frame.axes
        ]
        self._free_of_reasons = _bits(not box.clauses and not box.refused for box in near)

    @cached_property
    def _axes(self) -> int:
        """The axes that some row asks about, a bit each."""
        return _bits(free != self._rows for free in self._free)

    def search(self) -> Point | None:
        """A situation in none of the boxes."""
        if self._frame.is_empty(self._region):
            return None
        found = self._search(self._rows, self._axes)
        if found is None:
            return None
        chosen, reasons = found
        first = self._frame.point_in(self._region)
        return Point(tuple([chosen.get(n, atom) for n, atom in enumerate(first.atoms)]), reasons)

    def _search(self, rows: int, axes: int) -> tuple[dict[int, int], int] | None:
        """The atoms that leave none of these rows, by axis, and the reasons."""
        if rows == 0:
            return {}, _ONLY_REASONS.point_in(self._region.of_reasons).reasons
        if self._has_one_that_asks_nothing(rows, axes) or (rows, axes) in self._covered:
            return None
        self._budget.spend(1)
        found = self._split(rows, axes) if axes else self._search_reasons(rows)
        if found is None:
            self._covered.add((rows, axes))
        return found

    def _has_one_that_asks_nothing(self, rows: int, axes: int) -> bool:
        rows &= self._free_of_reasons
        while axes and rows:
            lowest = axes & -axes
            rows &= self._free[lowest.bit_length() - 1]
            axes ^= lowest
        return rows != 0

    def _split(self, rows: int, axes: int) -> tuple[dict[int, int], int] | None:
        axis = min(_each(axes), key=lambda each: (rows & self._free[each]).bit_count())
        left: dict[int, int] = {}
        for atom, possible in self._atoms[axis]:
            left.setdefault(rows & possible, atom)
        self._budget.spend(len(left) // 8)
        # Fewest rows first: that is where a hole is; where fewer leave none, more do not either.
        covered: list[int] = []
        for remaining in sorted(left, key=int.bit_count):
            if any(not fewer & ~remaining for fewer in covered):
                continue
            found = self._search(remaining, axes & ~(1 << axis))
            covered.append(remaining)
            if found is not None:
                found[0][axis] = left[remaining]
                return found
        return None

    def _search_reasons(self, rows: int) -> tuple[dict[int, int], int] | None:
        boxes = [self._boxes[n].of_reasons for n in _each(rows)]
        point = _ONLY_REASONS.hole(self._region.of_reasons, boxes, self._budget)
        return None if point is None else ({}, point.reasons)


def _rows_by_atom(atoms: int, sets: Sequence[int]) -> list[tuple[int, int]]:
    """Each atom with the rows whose set has it."""
    rows = dict.fromkeys(_each(atoms), 0)
    for row, has in enumerate(sets):
        bit = 1 << row
        for atom in _each(has & atoms):
            rows[atom] |= bit
    return list(rows.items())


def _each(bits: int) -> list[int]:
    """The numbers of the bits that are set."""
    found = []
    while bits:
        lowest = bits & -bits
        found.append(lowest.bit_length() - 1)
        bits ^= lowest
    return found


def _bits(chosen: Iterable[bool]) -> int:
    return sum(1 << n for n, true in enumerate(chosen) if true)
