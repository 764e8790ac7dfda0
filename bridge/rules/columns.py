"""One fact's conditions of all rows as bit masks: a value looked up answers for every row at once.

Bit ``n`` stands for row ``n``. ``Masks`` are a pair: the rows that are not false for this value,
and those of them that are unknown. A row without a condition on the fact is in the first only.
Each column holds at most one condition a row (reasons excepted), so a fact may have several.

A column is made by the kind of its conditions, never by the name of its fact. What a value of
another kind means is what the truth table in ``conditions`` says; ``None`` is a fact that is not
there.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from bridge.facts.values import FactValue, Reason, Reasons, Severity, Unknown
from bridge.rules.clauses import Clause, Needs, ReasonTest, needs_of
from bridge.rules.conditions import (
    Condition,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TimeOfDay,
    TruthIs,
)

Masks: TypeAlias = tuple[int, int]


class SymbolColumn:
    """Symbols: one mask for each word that a row names, and one for every other word."""

    __slots__ = ("fact", "masks_of", "other", "unknown")

    def __init__(self, fact: str, every: int, tests: Mapping[int, SymbolIs]) -> None:
        negated = unsaid = refused = 0
        named: dict[str, int] = {}
        for row, test in tests.items():
            bit = 1 << row
            negated |= bit if test.negated else 0
            unsaid |= 0 if test.unknown else bit
            refused |= bit if test.unknown and test.negated else 0
            for word in test.wanted:
                named[word] = named.get(word, 0) | bit
        free = every & ~_bits(tests)
        self.fact = fact
        self.masks_of = {word: (free | (negated ^ rows), 0) for word, rows in named.items()}
        self.other: Masks = (free | negated, 0)
        self.unknown: Masks = (every & ~refused, unsaid)

    def masks(self, value: FactValue | None) -> Masks:
        """The rows for any value; a value that is no symbol is none of the words."""
        if value is None or isinstance(value, Unknown):
            return self.unknown
        return self.masks_of.get(value, self.other) if isinstance(value, str) else self.other


class NumberColumn:
    """Numbers: sorted cuts, and one mask for each piece between two of them.

    Pieces are half-open, ``[cut, next cut)``: an end that belongs to the other side is moved to
    the next number that there is, so that one bisection finds the piece.
    """

    __slots__ = ("cuts", "fact", "pieces", "unknown")

    def __init__(self, fact: str, every: int, tests: Mapping[int, NumberIn | TimeOfDay]) -> None:
        constrained = _bits(tests)
        begins: dict[float, int] = {}
        ends: dict[float, int] = {}
        rows = every & ~constrained
        for row, test in tests.items():
            for begin, end in test.spans:
                if begin == -math.inf:
                    rows |= 1 << row
                else:
                    begins[begin] = begins.get(begin, 0) | 1 << row
                ends[end] = ends.get(end, 0) | 1 << row
        ends.pop(math.inf, None)
        self.fact = fact
        self.cuts = tuple(sorted({*begins, *ends}))
        pieces: list[Masks] = [(rows, 0)]
        for cut in self.cuts:
            rows = (rows & ~ends.get(cut, 0)) | begins.get(cut, 0)
            pieces.append((rows, 0))
        self.pieces = tuple(pieces)
        self.unknown: Masks = (every, constrained)

    def masks(self, value: FactValue | None) -> Masks:
        """The rows for any value; what is no number is not known."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            return self.pieces[bisect_right(self.cuts, value)]
        return self.unknown


class TruthColumn:
    """True or false."""

    __slots__ = ("fact", "false", "other", "true", "unknown")

    def __init__(self, fact: str, every: int, tests: Mapping[int, TruthIs]) -> None:
        constrained = _bits(tests)
        wanted = _bits(row for row, test in tests.items() if test.wanted)
        free = every & ~constrained
        self.fact = fact
        self.true: Masks = (free | wanted, 0)
        self.false: Masks = (every & ~wanted, 0)
        self.other: Masks = (free, 0)
        self.unknown: Masks = (every, constrained)

    def masks(self, value: FactValue | None) -> Masks:
        """The rows for any value; what is neither true nor false is not what was wanted."""
        if value is True:
            return self.true
        if value is False:
            return self.false
        return self.unknown if value is None or isinstance(value, Unknown) else self.other


class _Hits:
    """Rows by the reasons that their clauses speak of."""

    __slots__ = ("_named", "_severe")

    def __init__(self) -> None:
        self._named: dict[str, list[int]] = {}
        self._severe = [0] * len(Severity)

    def add(self, row: int, clause: Clause) -> None:
        """One clause of a row."""
        bit = 1 << row
        for keyword in clause.keywords:
            rows = self._named.setdefault(keyword.keyword, [0] * len(Severity))
            for severity in Severity:
                if keyword.severity in {None, severity}:
                    rows[severity.value] |= bit
        if clause.severity is not None:
            for value in range(clause.severity.value, len(Severity)):
                self._severe[value] |= bit

    def of(self, known: Iterable[Reason]) -> int:
        """The rows that one of these reasons hits."""
        rows = 0
        for reason in known:
            value = reason.severity.value
            rows |= self._severe[value]
            named = self._named.get(reason.keyword)
            if named is not None:
                rows |= named[value]
        return rows


class ReasonsColumn:
    """Reasons: the clauses in lanes, the nth of every row in the nth lane, and what is refused.

    ``no_reasons`` are the masks of the commonest value: none, and that is all of them.
    """

    __slots__ = ("_every", "_lanes", "_refused", "_refusing", "fact", "no_reasons", "unknown")

    def __init__(self, fact: str, every: int, tests: Mapping[int, Needs]) -> None:
        self.fact = fact
        self._every = every
        self._lanes: list[tuple[int, _Hits]] = []
        self._refused = _Hits()
        self._refusing = 0
        for row, needs in tests.items():
            self._add(row, needs)
        self.unknown: Masks = (every, _bits(tests))
        self.no_reasons = self._joined(Reasons(()))

    def _add(self, row: int, needs: Needs) -> None:
        for nth, clause in enumerate(needs.clauses):
            if nth == len(self._lanes):
                self._lanes.append((0, _Hits()))
            rows, hits = self._lanes[nth]
            hits.add(row, clause)
            self._lanes[nth] = (rows | 1 << row, hits)
        if needs.refused is not None:
            self._refused.add(row, needs.refused)
            self._refusing |= 1 << row

    def masks(self, value: FactValue | None) -> Masks:
        """The rows for any value: by the known reasons first, then by whether more can hold."""
        if not isinstance(value, Reasons):
            return self.unknown
        if not value.known and value.open_because is None:
            return self.no_reasons
        return self._joined(value)

    def _joined(self, value: Reasons) -> Masks:
        missing = 0
        for rows, hits in self._lanes:
            missing |= rows & ~hits.of(value.known)
        rows = self._every & ~self._refused.of(value.known)
        if value.open_because is None:
            return rows & ~missing, 0
        return rows, rows & (missing | self._refusing)


Column: TypeAlias = SymbolColumn | NumberColumn | TruthColumn | ReasonsColumn


def columns_of(rows: Sequence[Sequence[Condition]]) -> tuple[Column, ...]:
    """The columns of a table: one for each fact, and more where a row asks the same fact again."""
    every = (1 << len(rows)) - 1
    plain: dict[tuple[str, type, int], dict[int, Condition]] = {}
    reasons: dict[str, dict[int, list[ReasonTest]]] = {}
    for row, conditions in enumerate(rows):
        for condition in conditions:
            if isinstance(condition, ReasonsHave | SeverityAtLeast):
                reasons.setdefault(condition.fact, {}).setdefault(row, []).append(condition)
            else:
                _put(plain, row, condition)
    made = [_column(fact, every, tests) for (fact, _, _), tests in plain.items()]
    for fact, tests in reasons.items():
        needs = {row: needs_of(conditions) for row, conditions in tests.items()}
        made.append(ReasonsColumn(fact, every, needs))
    return tuple(made)


def _put(
    plain: dict[tuple[str, type, int], dict[int, Condition]], row: int, condition: Condition
) -> None:
    nth = 0
    while row in (tests := plain.setdefault((condition.fact, type(condition), nth), {})):
        nth += 1
    tests[row] = condition


def _column(fact: str, every: int, tests: Mapping[int, Condition]) -> Column:
    symbols = {row: test for row, test in tests.items() if isinstance(test, SymbolIs)}
    if symbols:
        return SymbolColumn(fact, every, symbols)
    numbers = {row: test for row, test in tests.items() if isinstance(test, NumberIn | TimeOfDay)}
    if numbers:
        return NumberColumn(fact, every, numbers)
    truths = {row: test for row, test in tests.items() if isinstance(test, TruthIs)}
    return TruthColumn(fact, every, truths)


def _bits(rows: Iterable[int]) -> int:
    bits = 0
    for row in rows:
        bits |= 1 << row
    return bits
