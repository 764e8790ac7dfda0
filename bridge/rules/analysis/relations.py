"""Which rows meet and which hold which, for all pairs at once: a mask of rows for each row."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import Final, TypeVar

from bridge.rules.analysis.boxes import Box, Frame
from bridge.rules.analysis.space import Place

_Key = TypeVar("_Key", bound=Hashable)
_ONLY_REASONS: Final = Frame(())


class Relations:
    """Bit n is the row whose ``number`` is n; a row that is never true meets and holds none.

    Rows that say the same of an axis are compared once, and the axes' answers are and'ed.
    """

    def __init__(self, frame: Frame, places: Sequence[Place], rows: int) -> None:
        live = [each for each in places if not each.hopeless and not frame.is_empty(each.true)]
        self.every = sum(1 << place.number for place in live)
        #: By row: the rows that can be true in the same situation, itself among them.
        self.meets = [0] * rows
        #: By row: the rows that are true wherever it is, itself among them.
        self.held_by = [0] * rows
        for place in live:
            self.meets[place.number] = self.held_by[place.number] = self.every
        for axis in frame.axes:
            sets = [(place.number, place.sets[axis]) for place in live]
            self._narrow(sets, _sets_meet, _set_holds)
        boxes = [(place.number, place.true.of_reasons) for place in live]
        self._narrow(boxes, _reasons_meet, _reasons_hold)

    def _narrow(
        self,
        keys: Sequence[tuple[int, _Key]],
        meets: Callable[[_Key, _Key], bool],
        holds: Callable[[_Key, _Key], bool],
    ) -> None:
        groups: dict[_Key, list[int]] = {}
        for row, key in keys:
            groups.setdefault(key, []).append(row)
        masks = [(key, sum(1 << row for row in rows)) for key, rows in groups.items()]
        meeting = [mask for _, mask in masks]
        holding = [mask for _, mask in masks]
        for index, (key, mask) in enumerate(masks):
            for further in range(index + 1, len(masks)):
                other, rows = masks[further]
                if not meets(key, other):
                    continue
                meeting[index] |= rows
                meeting[further] |= mask
                if holds(key, other):
                    holding[index] |= rows
                elif holds(other, key):
                    holding[further] |= mask
        for index, members in enumerate(groups.values()):
            for row in members:
                self.meets[row] &= meeting[index]
                self.held_by[row] &= holding[index]

    def crossing(self, number: int) -> int:
        """The rows further down that meet this one, where neither holds the other."""
        below = self.meets[number] >> (number + 1) << (number + 1)
        holding = sum(1 << n for n in rows_in(below) if self.held_by[n] >> number & 1)
        return below & ~self.held_by[number] & ~holding


def _sets_meet(one: int, other: int) -> bool:
    return one & other != 0


def _set_holds(one: int, other: int) -> bool:
    return one & ~other == 0


def _reasons_meet(one: Box, other: Box) -> bool:
    return not _ONLY_REASONS.is_empty(one.meet(other))


def _reasons_hold(one: Box, other: Box) -> bool:
    return other.holds(one)


def rows_in(mask: int) -> list[int]:
    """The numbers of the rows in a mask."""
    found = []
    while mask:
        lowest = mask & -mask
        found.append(lowest.bit_length() - 1)
        mask ^= lowest
    return found
