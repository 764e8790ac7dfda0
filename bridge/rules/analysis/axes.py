"""One fact as an axis: its values in atoms that no condition of the table tells further apart."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from bridge.facts.values import FactValue, Unknown, Why
from bridge.rules.analysis.offers import Values
from bridge.rules.conditions import Condition, NumberIn, SymbolIs, TimeOfDay, TruthIs

#: A fact that was offered and is not known now.
LOST: Final = Unknown(Why.NOT_FRESH)
#: Stands for every word that no row names.
OTHER_WORD: Final = "something-else"


@dataclass(frozen=True, slots=True)
class Axis:
    """``values`` has one value for each atom; bit n of a set is the nth of them.

    Numbers come first, in order, piece by piece from ``begins``; then words, truths, and last the
    unknown, where it can be. An axis of ``reasons`` has two atoms: these are all, and perhaps more.
    """

    fact: str
    values: tuple[FactValue, ...]
    begins: tuple[float, ...] = ()
    reasons: bool = False
    #: Whether its being unknown holds comfort back: it does where the reader offers the fact.
    counts: bool = True

    @property
    def every(self) -> int:
        """All atoms."""
        return (1 << len(self.values)) - 1

    @property
    def unknown(self) -> int:
        """The atom that is not known, as a set; 0 where the fact is always known."""
        lost = bool(self.values) and isinstance(self.values[-1], Unknown)
        return 1 << len(self.values) - 1 if lost else 0

    @property
    def known(self) -> int:
        """Every atom but the unknown."""
        return self.every & ~self.unknown

    def where(self, value: FactValue) -> int:
        """The atom of a word or a truth."""
        return self.of(
            each is value or (isinstance(value, str) and each == value) for each in self.values
        )

    def of(self, chosen: Iterable[bool]) -> int:
        """The atoms for which this is true, in their order."""
        return sum(1 << n for n, true in enumerate(chosen) if true)

    def judged(self, condition: Condition) -> tuple[int, int]:
        """The atoms for which a condition is true, and those for which it is unknown."""
        match condition:
            case NumberIn() | TimeOfDay():
                numbers = 0
                for begin, end in condition.spans:
                    numbers |= self._between(begin, end)
                return numbers, self.every & ~((1 << len(self.begins)) - 1)
            case SymbolIs():
                return self._symbol(condition)
            case TruthIs():
                true = self.of(each is condition.wanted for each in self.values)
                return true, self.unknown
            case _:
                raise TypeError(f"{condition} is no test of a single value")

    def _between(self, begin: float, end: float) -> int:
        first, last = bisect_left(self.begins, begin), bisect_left(self.begins, end)
        return (1 << last) - (1 << first) if last > first else 0

    def _symbol(self, condition: SymbolIs) -> tuple[int, int]:
        named = self.of(isinstance(each, str) and each in condition.wanted for each in self.values)
        true = self.known & ~named if condition.negated else named
        if not condition.unknown:
            return true, self.unknown
        return (true if condition.negated else true | self.unknown), 0


def axis_of(
    fact: str, values: Values, conditions: Sequence[Condition], *, counts: bool = True
) -> Axis:
    """The axis of a fact that has these values and is tested by these conditions."""
    numbers = _pieces(values, conditions)
    atoms: list[FactValue] = [value for _, value in numbers]
    atoms.extend(_words(values, conditions))
    if values.truths:
        atoms.extend((False, True))
    if values.unknown:
        atoms.append(LOST)
    return Axis(fact, tuple(atoms), tuple(begin for begin, _ in numbers), counts=counts)


def reasons_axis(fact: str, *, counts: bool = True, may_be_more: bool = True) -> Axis:
    """Whether the reasons are all known."""
    return Axis(fact, (True, LOST) if may_be_more else (True,), reasons=True, counts=counts)


def _words(values: Values, conditions: Iterable[Condition]) -> list[str]:
    words = dict.fromkeys(values.symbols)
    if values.any_text:
        for condition in conditions:
            if isinstance(condition, SymbolIs):
                words.update(dict.fromkeys(sorted(condition.wanted)))
        words[OTHER_WORD] = None
    return list(words)


def _pieces(values: Values, conditions: Iterable[Condition]) -> list[tuple[float, float]]:
    """Where each piece of the numbers begins, and a number in it."""
    if values.numbers is None:
        return []
    least, most = values.numbers
    ends = {
        end
        for condition in conditions
        if isinstance(condition, NumberIn | TimeOfDay)
        for each in condition.spans
        for end in each
    }
    begins = [least, *sorted(end for end in ends if least < end <= most and end < math.inf)]
    beyond = math.nextafter(most, math.inf)
    return [
        (begin, round_number(begin, end))
        for begin, end in zip(begins, [*begins[1:], beyond], strict=True)
    ]


def round_number(begin: float, end: float) -> float:
    """A number from ``begin`` on and below ``end``, with as few digits as may be."""
    if begin == -math.inf:
        return round_number(end - max(1.0, abs(end)), end) if end < math.inf else 0.0
    if end == math.inf:
        return round_number(begin, begin + max(1.0, abs(begin)))
    middle = begin + (end - begin) / 2
    for digits in range(-3, 13):
        value = round(middle, digits)
        if begin <= value < end:
            return value + 0.0
    return begin
