"""A table compiled once: one bit mask a column, and'ed; the lowest set bit is the first hit.

``decide`` is the one matcher: the daemon, ``check``, ``explain`` and the page come here through
``decision.decide``. A column costs one lookup, whatever the number of rows.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from typing import TYPE_CHECKING

from bridge.facts.values import Facts
from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.columns import (
    Column,
    NumberColumn,
    ReasonsColumn,
    SymbolColumn,
    TruthColumn,
    columns_of,
)
from bridge.rules.decision import ALWAYS_OFFERED, Decision

if TYPE_CHECKING:
    from bridge.rules.table import Row


class _Words(dict[str, int]):
    """The rows by word; a word that no row names is looked up as one of the others."""

    def __init__(self, column: SymbolColumn) -> None:
        super().__init__({word: rows for word, (rows, _) in column.masks_of.items()})
        self._other, _ = column.other

    def __missing__(self, word: object) -> int:
        """The rows of every other word; what is no word is not to be found."""
        if type(word) is str:
            return self._other
        raise KeyError(word)


class Compiled:
    """The rows of one table as columns."""

    def __init__(self, table: str, rows: Sequence[Row], otherwise: Row) -> None:
        self.columns: tuple[Column, ...] = columns_of([row.tested for row in rows])
        self.table = table
        #: By the bit length of the lowest set bit; where none is set, that is ``otherwise``.
        self.by_length = (otherwise, *rows)
        self._every = (1 << len(rows)) - 1
        #: Rows that may decide although a row above them cannot be judged.
        self._grave = sum(1 << n for n, row in enumerate(rows) if row.says not in COMFORTABLE)
        self._symbols = tuple(
            (each.fact, _Words(each)) for each in self.columns if isinstance(each, SymbolColumn)
        )
        self._numbers = tuple(
            (each.fact, each.cuts, tuple(rows for rows, _ in each.pieces))
            for each in self.columns
            if isinstance(each, NumberColumn)
        )
        self._truths = tuple(
            (each.fact, each.true[0], each.false[0])
            for each in self.columns
            if isinstance(each, TruthColumn)
        )
        self._reasons = tuple(
            (each.fact, each) for each in self.columns if isinstance(each, ReasonsColumn)
        )

    def decide(self, facts: Facts, offered: AbstractSet[str]) -> Decision:
        """The first row that is true and may decide.

        A row that would reassure is passed over while a row above it is unknown because of a fact
        that this printer's reader offers.
        """
        true = self._every
        # The hot path: everything is known, and a loop for each kind calls nothing of ours. What
        # is not, or is a value of another kind, goes the careful way.
        try:
            for fact, rows_of in self._symbols:
                true &= rows_of[facts[fact]]  # type: ignore[index]
            for fact, cuts, pieces in self._numbers:
                value = facts[fact]
                if type(value) is not float:
                    return self._carefully(facts, offered)
                true &= pieces[bisect_right(cuts, value)]
            for fact, if_true, if_false in self._truths:
                value = facts[fact]
                if value is False:
                    true &= if_false
                elif value is True:
                    true &= if_true
                else:
                    return self._carefully(facts, offered)
            for fact, column in self._reasons:
                rows, unknown = column.masks(facts[fact])
                if unknown:
                    return self._carefully(facts, offered)
                true &= rows
        except KeyError:
            return self._carefully(facts, offered)
        return Decision(self, (true & -true).bit_length(), facts, offered)

    def _carefully(self, facts: Facts, offered: AbstractSet[str]) -> Decision:
        true, unsure = self.judged(facts, offered)
        if unsure:
            # Above the first row that cannot be judged all may decide, below it the grave only.
            true &= self._grave | ((unsure & -unsure) - 1)
        return Decision(self, (true & -true).bit_length(), facts, offered)

    def judged(self, facts: Facts, offered: AbstractSet[str]) -> tuple[int, int]:
        """The rows that are true, and those unknown because of what is offered; bit n is row n."""
        rows, unknown, unsure = self._every, 0, 0
        for column in self.columns:
            possible, open_ = column.masks(facts.get(column.fact))
            rows &= possible
            if open_:
                unknown |= open_
                if column.fact in offered or column.fact in ALWAYS_OFFERED:
                    unsure |= open_
        return rows & ~unknown, rows & unsure
