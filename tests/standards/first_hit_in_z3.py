"""Tables as formulas for z3: the truth table and first hit written a second time, as logic.

``python -m tests.standards.first_hit_in_z3 [TABLES] [FIRST SEED]`` compares as many tables as one
likes; the tests take some hundreds.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import z3  # type: ignore[import-untyped]

from bridge.facts.reader import Interval
from bridge.facts.values import FactValue, Reason, Reasons, Severity, Unknown
from bridge.facts.vocabulary import FACTS as VOCABULARY
from bridge.rules.analysis.boxes import Budget
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.offers import any_offer
from bridge.rules.analysis.relations import rows_in
from bridge.rules.analysis.space import Space
from bridge.rules.conditions import (
    Condition,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TimeOfDay,
    TruthIs,
)
from bridge.rules.table import Row, Table
from tests.rules.made_up import FACTS, KEYWORDS, NUMBERS, SEVERITIES, table_of

#: A keyword that no row names.
_OTHER: Final = "other"
#: A word that no row names; a site's own fact may be anything else as well.
_ELSE: Final = "something-else"
_COMFORTABLE: Final = {"resting", "well"}


@dataclass(frozen=True, slots=True)
class Both:
    """Where a condition or a row is true, and where it is unknown."""

    true: z3.BoolRef
    unknown: z3.BoolRef


class Situations:
    """One variable for each fact, what they can be, and the conditions on them."""

    def __init__(self) -> None:
        self.words = {
            "link": ("up", "down"),
            "state": VOCABULARY["state"].symbols,
            "job": VOCABULARY["job"].symbols,
            "site-shift": ("early", "late", _ELSE),
        }
        self.symbols = {name: z3.Int(name) for name in self.words}
        self.numbers = {name: z3.Real(name) for name in NUMBERS}
        self.lost = {name: z3.Bool(f"{name} lost") for name in (*self.words, *NUMBERS)}
        self.stale = z3.Bool("stale")
        self.open = z3.Bool("reasons open")
        self.reasons = {
            (keyword, severity): z3.Bool(f"{keyword} {severity.name}")
            for keyword in (*KEYWORDS, _OTHER)
            for severity in SEVERITIES
        }

    def limits(self) -> list[z3.BoolRef]:
        """The values that facts can have."""
        limits = [
            z3.And(code >= 0, code < len(self.words[name])) for name, code in self.symbols.items()
        ]
        for name, number in self.numbers.items():
            fact = VOCABULARY[name]
            limits += [number >= fact.least, number <= fact.most]
        return limits

    def known(self) -> z3.BoolRef:
        """Everything is known."""
        return z3.And(z3.Not(self.open), *[z3.Not(lost) for lost in self.lost.values()])

    def condition(self, condition: Condition) -> Both:
        """Where one condition holds."""
        match condition:
            case TruthIs():
                return Both(self.stale == condition.wanted, z3.BoolVal(val=False))
            case NumberIn():
                lost = self.lost[condition.fact]
                inside = _between(self.numbers[condition.fact], condition.interval)
                return Both(z3.And(z3.Not(lost), inside), lost)
            case SymbolIs():
                return self._symbol(condition)
            case SeverityAtLeast():
                return self._any(
                    reason for reason in self.reasons if reason[1].value >= condition.severity.value
                )
            case ReasonsHave():
                return self._reasons(condition)
            case TimeOfDay():
                raise TypeError(f"{condition} is in none of these tables")

    def _symbol(self, condition: SymbolIs) -> Both:
        lost = self.lost[condition.fact]
        # ``unknown: …`` may be asked of a number too, which is then none of the words.
        named = z3.BoolVal(val=False)
        if condition.fact in self.symbols:
            code, words = self.symbols[condition.fact], self.words[condition.fact]
            named = z3.Or([code == words.index(word) for word in condition.wanted if word in words])
        fits = z3.Not(named) if condition.negated else named
        if not condition.unknown:
            return Both(z3.And(z3.Not(lost), fits), lost)
        two_valued = z3.If(lost, not condition.negated, fits)
        return Both(two_valued, z3.BoolVal(val=False))

    def _reasons(self, condition: ReasonsHave) -> Both:
        each = [
            [
                (name, severity)
                for name, severity in self.reasons
                if name == keyword.keyword and keyword.severity in {None, severity}
            ]
            for keyword in condition.keywords
        ]
        if condition.how == "all":
            there = z3.And([z3.Or([self.reasons[one] for one in ones]) for ones in each])
            return Both(there, z3.And(z3.Not(there), self.open))
        any_ = self._any(one for ones in each for one in ones)
        if condition.how == "any":
            return any_
        return Both(z3.And(z3.Not(any_.true), z3.Not(self.open)), any_.unknown)

    def _any(self, reasons: Iterable[tuple[str, Severity]]) -> Both:
        there = z3.Or([self.reasons[reason] for reason in reasons])
        return Both(there, z3.And(z3.Not(there), self.open))

    def row(self, row: Row) -> Both:
        """Kleene's conjunction of a row's conditions."""
        each = [self.condition(condition) for condition in row.when]
        possible = z3.And([z3.Or(both.true, both.unknown) for both in each])
        true = z3.And([both.true for both in each])
        return Both(true, z3.And(possible, z3.Not(true)))

    def is_(self, facts: Mapping[str, FactValue]) -> z3.BoolRef:
        """The one situation with these facts; what is not given is free."""
        return z3.And([self._fact(name, value) for name, value in facts.items()])

    def _fact(self, name: str, value: FactValue) -> z3.BoolRef:
        if name == "stale":
            return self.stale == bool(value)
        if isinstance(value, Reasons):
            there = {_key(reason) for reason in value.known}
            is_there = [var == (key in there) for key, var in self.reasons.items()]
            return z3.And(self.open == (not value.complete), *is_there)
        if isinstance(value, Unknown):
            return self.lost[name] if name in self.lost else z3.And(self.open)
        if isinstance(value, str) and name in self.symbols:
            words = self.words[name]
            code = words.index(value if value in words else _ELSE)
            return z3.And(z3.Not(self.lost[name]), self.symbols[name] == code)
        if name in self.numbers:
            return z3.And(z3.Not(self.lost[name]), self.numbers[name] == z3.RealVal(repr(value)))
        return z3.And(z3.Not(self.lost[name]), self.symbols[name] == len(self.words[name]) - 1)


def _key(reason: Reason) -> tuple[str, Severity]:
    return (reason.keyword if reason.keyword in KEYWORDS else _OTHER), reason.severity


def _between(number: z3.ArithRef, interval: Interval) -> z3.BoolRef:
    ends = []
    if interval.least is not None:
        least = z3.RealVal(repr(interval.least))
        ends.append(number >= least if interval.least_included else number > least)
    if interval.most is not None:
        most = z3.RealVal(repr(interval.most))
        ends.append(number <= most if interval.most_included else number < most)
    return z3.And(ends)


class FirstHit:
    """The questions about a table, put to z3."""

    def __init__(self, table: Table) -> None:
        self.situations = Situations()
        self._rows = [self.situations.row(row) for row in table.rows]
        self._comfortable = [row.says in _COMFORTABLE for row in table.rows]
        self._solver = z3.Solver()
        self._solver.add(self.situations.limits())

    def is_possible(self, *formulas: z3.BoolRef) -> bool:
        """Whether some situation fulfils all of these."""
        return bool(self._solver.check(*formulas) == z3.sat)

    def _may(self, number: int) -> z3.BoolRef:
        """A row is true, and not passed over."""
        if not self._comfortable[number]:
            return self._rows[number].true
        above = [z3.Not(row.unknown) for row in self._rows[:number]]
        return z3.And(self._rows[number].true, *above)

    def decides(self, number: int) -> z3.BoolRef:
        """Just this row decides."""
        return z3.And(self._may(number), *[z3.Not(self._may(n)) for n in range(number)])

    def nothing_decides(self) -> z3.BoolRef:
        """Only ``otherwise`` shows."""
        return z3.And([z3.Not(self._may(n)) for n in range(len(self._rows))])

    def nothing_is_true(self) -> z3.BoolRef:
        """No row at all."""
        return z3.And([z3.Not(row.true) for row in self._rows])

    def crossing(self, one: int, other: int) -> bool:
        """Both can be true at once, and each without the other."""
        a, b = self._rows[one].true, self._rows[other].true
        return all(self.is_possible(*pair) for pair in ((a, b), (a, z3.Not(b)), (b, z3.Not(a))))


def differences(seed: int) -> list[str]:
    """What the analysis and z3 say differently of a table by chance."""
    rng = random.Random(seed)
    table = table_of(rng, rng.randint(1, 9))
    deciding = Deciding(Space(table, any_offer(FACTS)), Budget(1_000_000, 10_000_000))
    return list(_compared(table, deciding, FirstHit(table)))


def _compared(table: Table, deciding: Deciding, logic: FirstHit) -> Iterable[str]:
    situations = logic.situations
    known = situations.known()
    questions = [
        ("a gap", deciding.gap(), z3.And(known, logic.nothing_is_true())),
        ("a gap of unknown", deciding.gap_of_unknown(), logic.nothing_decides()),
    ]
    for place in deciding.space.places:
        point = deciding.situation(place)
        questions.append((f"{place.row.name} decides", point, logic.decides(place.number)))
    for what, point, formula in questions:
        if (point is not None) != logic.is_possible(formula):
            yield f"{what}: {point} is not what z3 says"
        elif point is not None:
            facts = deciding.space.situation(point)
            if not logic.is_possible(formula, situations.is_(facts)):
                yield f"{what}: {facts} is no example"
    for one in range(len(table.rows)):
        ours = set(rows_in(deciding.relations.crossing(one)))
        theirs = {n for n in range(one + 1, len(table.rows)) if logic.crossing(one, n)}
        if ours != theirs:
            yield f"row {one} crosses {sorted(ours)}, and z3 says {sorted(theirs)}"


def main() -> int:
    """Compare until told otherwise; says how many agreed."""
    tables = int(sys.argv[1]) if len(sys.argv) > 1 else 3000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    began = time.monotonic()
    wrong = [(seed, found) for seed in range(first, first + tables) for found in differences(seed)]
    for seed, found in wrong:
        sys.stdout.write(f"seed {seed}: {found}\n")
    seconds = time.monotonic() - began
    sys.stdout.write(f"{tables} tables, {len(wrong)} differences, {seconds:.0f} s\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
