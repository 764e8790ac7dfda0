"""A table compiled once: one bit mask a column, and'ed; the lowest set bit is the first hit.

``decide`` is the one matcher: the daemon, ``check``, ``explain`` and the page come here through
``decision.decide``. A column costs one lookup, whatever the number of rows.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from typing import TYPE_CHECKING

from bridge.facts.values import Facts, FactValue, Reasons
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


class Compiled:
    """The rows of one table as columns."""

    def __init__(self, table: str, rows: Sequence[Row], otherwise: Row) -> None:
        self.columns: tuple[Column, ...] = columns_of([row.when for row in rows])
        self.table = table
        #: By the bit length of the lowest set bit; where none is set, that is ``otherwise``.
        self.by_length = (otherwise, *rows)
        self._every = (1 << len(rows)) - 1
        #: Rows that may decide although a row above them cannot be judged.
        self._grave = sum(1 << n for n, row in enumerate(rows) if row.says not in COMFORTABLE)
        self._symbols = tuple(
            (each.fact, {word: rows for word, (rows, _) in each.masks_of.items()}.get,
             each.other[0], each)
            for each in self.columns if isinstance(each, SymbolColumn)
        )  # fmt: skip
        self._numbers = tuple(
            (each.fact, each.cuts, tuple(rows for rows, _ in each.pieces), each)
            for each in self.columns
            if isinstance(each, NumberColumn)
        )
        self._truths = tuple(
            (each.fact, each.true[0], each.false[0], each)
            for each in self.columns
            if isinstance(each, TruthColumn)
        )
        self._reasons = tuple(each for each in self.columns if isinstance(each, ReasonsColumn))

    def decide(  # noqa: PLR0912 - the hot path, a loop for each kind and no call in them
        self, facts: Facts, offered: AbstractSet[str]
    ) -> Decision:
        """The first row that is true and may decide.

        A row that would reassure is passed over while a row above it is unknown because of a fact
        that this printer's reader offers.
        """
        get = facts.get
        true = self._every
        odd: list[tuple[Column, FactValue | None]] = []
        for fact, look, other, symbols in self._symbols:
            value = get(fact)
            if type(value) is str:
                true &= look(value, other)
            else:
                odd.append((symbols, value))
        for fact, cuts, pieces, numbers in self._numbers:
            value = get(fact)
            if type(value) is float:
                true &= pieces[bisect_right(cuts, value)]
            else:
                odd.append((numbers, value))
        for fact, if_true, if_false, truths in self._truths:
            value = get(fact)
            if value is False:
                true &= if_false
            elif value is True:
                true &= if_true
            else:
                odd.append((truths, value))
        for reasons in self._reasons:
            value = get(reasons.fact)
            if type(value) is Reasons and not value.known and value.open_because is None:
                true &= reasons.no_reasons
            else:
                odd.append((reasons, value))
        if odd:
            true, unsure = _judged(true, odd, offered)
            if unsure:
                # Above the first row that cannot be judged all may decide, below it the grave only.
                true &= self._grave | ((unsure & -unsure) - 1)
        return Decision(self, (true & -true).bit_length(), facts, offered)

    def judged(self, facts: Facts, offered: AbstractSet[str]) -> tuple[int, int]:
        """The rows that are true, and those unknown because of what is offered; bit n is row n."""
        values = [(column, facts.get(column.fact)) for column in self.columns]
        return _judged(self._every, values, offered)

    def cuts(self, fact: str) -> tuple[float, ...]:
        """Where the answer for a number can change, in order: from each of these numbers on."""
        found = {cut for each in self._of(fact) for cut in each.cuts}
        return tuple(sorted(found))

    def next_cut(self, fact: str, value: float) -> float | None:
        """The next number above ``value`` at which the answer can change: a column's deadline."""
        cuts = self.cuts(fact)
        index = bisect_right(cuts, value)
        return cuts[index] if index < len(cuts) else None

    def _of(self, fact: str) -> tuple[NumberColumn, ...]:
        return tuple(
            each for each in self.columns if isinstance(each, NumberColumn) and each.fact == fact
        )


def _judged(
    rows: int, values: Sequence[tuple[Column, FactValue | None]], offered: AbstractSet[str]
) -> tuple[int, int]:
    """Of these rows the true ones, and those that are unknown because of what is offered."""
    unknown = unsure = 0
    for column, value in values:
        possible, open_ = column.masks(value)
        rows &= possible
        if open_:
            unknown |= open_
            if column.fact in offered or column.fact in ALWAYS_OFFERED:
                unsure |= open_
    return rows & ~unknown, rows & unsure
