"""Boxes in the space of situations, and the search for a situation that none of them holds.

A box is a set of atoms on every axis (bit n is the nth atom) and, of the reasons, clauses of which
each must be hit and what is refused (bits too). What is left of one box without another is again a
few boxes, so a region is searched by taking away the widest box first, and no situation is ever
enumerated. The worst case is exponential in the axes; ``Budget`` makes that an honest answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass


class UndecidedError(Exception):
    """The budget of a question is spent before it was answered."""


class Budget:
    """How many steps each question may take, and all of them together."""

    __slots__ = ("_all", "_left", "_steps")

    def __init__(self, steps: int, all_together: int | None = None) -> None:
        self._steps = self._left = steps
        self._all = steps if all_together is None else all_together

    def begin(self) -> None:
        """The next question has all of its steps again, while there are any."""
        self._left = min(self._steps, self._all)

    def spend(self, steps: int) -> None:
        """Raise ``UndecidedError`` when there is no more."""
        self._left -= steps
        self._all -= steps
        if self._left < 0:
            raise UndecidedError


@dataclass(frozen=True, slots=True)
class Box:
    """``sets`` are the atoms of all axes, packed; then one of each clause, none of ``refused``."""

    sets: int
    clauses: tuple[int, ...] = ()
    refused: int = 0

    def meet(self, other: Box) -> Box:
        """What lies in both; perhaps empty."""
        sets = self.sets & other.sets
        if not other.clauses and not other.refused:
            return Box(sets, self.clauses, self.refused)
        return Box(sets, self.clauses + other.clauses, self.refused | other.refused)

    def holds(self, other: Box) -> bool:
        """Whether all of a box that is not empty lies in this one."""
        if other.sets & ~self.sets or self.refused & ~other.refused:
            return False
        return all(other.implies(clause) for clause in self.clauses)

    def implies(self, clause: int) -> bool:
        """Whether every set of reasons in this box hits the clause."""
        missed = self.refused | clause
        return any(not each & ~missed for each in self.clauses)

    @property
    def of_reasons(self) -> Box:
        """What it says of the reasons only."""
        return Box(0, self.clauses, self.refused)


@dataclass(frozen=True, slots=True)
class Point:
    """One situation: an atom for each axis, and the reasons that are there (bits)."""

    atoms: tuple[int, ...]
    reasons: int


class Frame:
    """How the atoms of all axes are packed in one number, so that all axes are tried at once.

    Each axis has a field with a spare bit above it. Adding the largest value of every field sets
    the spare bit of just those that are not zero.
    """

    def __init__(self, sizes: Sequence[int]) -> None:
        self._fields: list[tuple[int, int]] = []
        self._largest = self._spare = shift = 0
        for size in sizes:
            atoms = (1 << size) - 1
            self._fields.append((shift, atoms))
            self._largest |= atoms << shift
            self._spare |= 1 << shift + size
            shift += size + 1

    @property
    def every(self) -> Box:
        """All situations."""
        return Box(self._largest)

    @property
    def axes(self) -> range:
        """The numbers of the axes."""
        return range(len(self._fields))

    def pack(self, sets: Iterable[int]) -> int:
        """The sets of all axes in one number."""
        return sum(atoms << shift for atoms, (shift, _) in zip(sets, self._fields, strict=True))

    def atoms(self, box: Box, axis: int) -> int:
        """The set of one axis."""
        shift, atoms = self._fields[axis]
        return box.sets >> shift & atoms

    def narrowed(self, box: Box, axis: int, atoms: int) -> Box:
        """The same box with these atoms on one axis."""
        shift, every = self._fields[axis]
        return Box(box.sets & ~(every << shift) | atoms << shift, box.clauses, box.refused)

    def is_empty(self, box: Box) -> bool:
        """Whether no situation lies in it."""
        if (box.sets + self._largest) & self._spare != self._spare:
            return True
        allowed = ~box.refused
        return any(not clause & allowed for clause in box.clauses)

    def point_in(self, box: Box) -> Point:
        """The first situation of a box that is not empty, with as few reasons as it allows."""
        reasons = 0
        allowed = ~box.refused
        for clause in sorted(box.clauses, key=lambda each: (each & allowed).bit_count()):
            if not clause & reasons:
                there = clause & allowed
                reasons |= there & -there
        sets = [self.atoms(box, axis) for axis in self.axes]
        return Point(tuple([(atoms & -atoms).bit_length() - 1 for atoms in sets]), reasons)

    def hole(self, region: Box, boxes: Iterable[Box], budget: Budget) -> Point | None:
        """A situation in ``region`` that lies in none of the boxes; ``None``: there is none."""
        waiting = [(region, list(boxes))]
        while waiting:
            rest, near = waiting.pop()
            if self.is_empty(rest):
                continue
            budget.spend(1 + len(near) // 16)
            near = self._near(rest, near)
            if not near:
                return self.point_in(rest)
            widest = min(near, key=lambda box: self._cuts(rest, box))
            others = [box for box in near if box is not widest]
            waiting.extend((part, others) for part in self.without(rest, widest))
        return None

    def _near(self, region: Box, boxes: Iterable[Box]) -> list[Box]:
        """The boxes that meet the region."""
        sets, largest, spare = region.sets, self._largest, self._spare
        near = [box for box in boxes if (box.sets & sets) + largest & spare == spare]
        if not region.clauses and not any(box.clauses for box in near):
            return near
        return [box for box in near if not self.is_empty(region.meet(box))]

    def _cuts(self, region: Box, box: Box) -> tuple[int, int]:
        """Into how many parts taking away the box cuts the region, and how much is left."""
        outside = region.sets & ~box.sets
        parts = (outside + self._largest & self._spare).bit_count()
        parts += box.refused & ~region.refused != 0
        parts += sum(not region.implies(clause) for clause in box.clauses)
        return parts, outside.bit_count()

    def without(self, region: Box, box: Box) -> Iterator[Box]:
        """The region without the box, as boxes that do not overlap."""
        inside = region
        outside = region.sets & ~box.sets
        cut = outside + self._largest & self._spare
        for axis, (shift, atoms) in enumerate(self._fields):
            if not cut >> shift + atoms.bit_length() & 1:
                continue
            yield self.narrowed(inside, axis, outside >> shift & atoms)
            inside = self.narrowed(inside, axis, self.atoms(inside, axis) & self.atoms(box, axis))
        there = box.refused & ~inside.refused
        if there:
            yield Box(inside.sets, (*inside.clauses, there), inside.refused)
            inside = Box(inside.sets, inside.clauses, inside.refused | there)
        for clause in box.clauses:
            if not inside.implies(clause):
                yield Box(inside.sets, inside.clauses, inside.refused | clause)
                inside = Box(inside.sets, (*inside.clauses, clause), inside.refused)
