"""The measured tables as formulas, and the questions of the analysis put to z3."""

from __future__ import annotations

import random
import time

import z3  # type: ignore[import-untyped]

from bridge.rules.conditions import Condition, NumberIn, SymbolIs, TruthIs
from bridge.rules.table import Table
from tests.benchmarks.made_tables import MOST, NUMBERS, SYMBOLS, TRUTHS, WORDS


class Prover:
    """A table's rows as formulas over the eight columns, made before the clock starts."""

    def __init__(self, table: Table) -> None:
        self._symbols = {name: z3.Int(name) for name in SYMBOLS}
        self._numbers = {name: z3.Real(name) for name in NUMBERS}
        self._truths = {name: z3.Bool(name) for name in TRUTHS}
        self.rows = [z3.And([self._formula(each) for each in row.when]) for row in table.rows]

    def _formula(self, condition: Condition) -> z3.BoolRef:
        match condition:
            case SymbolIs():
                code = self._symbols[condition.fact]
                return z3.Or([code == WORDS.index(word) for word in sorted(condition.wanted)])
            case NumberIn():
                number, interval = self._numbers[condition.fact], condition.interval
                ends = [] if interval.least is None else [number >= interval.least]
                return z3.And(ends + ([] if interval.most is None else [number < interval.most]))
            case _:
                truth = self._truths[condition.fact]
                wanted = isinstance(condition, TruthIs) and condition.wanted
                return truth if wanted else z3.Not(truth)

    def _solver(self) -> z3.Solver:
        solver = z3.Solver()
        for code in self._symbols.values():
            solver.add(code >= 0, code < len(WORDS))
        for number in self._numbers.values():
            solver.add(number >= 0, number <= MOST)
        return solver

    def has_gap(self) -> tuple[bool, float]:
        """Whether some situation fulfils no row, and the seconds it took."""
        solver = self._solver()
        solver.add(z3.Not(z3.Or(self.rows)))
        return timed(solver)

    def masked(self) -> tuple[list[int], float]:
        """The rows that the rows above leave nothing, and the seconds, one solver for all."""
        solver, seconds, found = self._solver(), 0.0, []
        for number, row in enumerate(self.rows):
            is_possible, took = timed(solver, row)
            seconds += took
            if not is_possible:
                found.append(number)
            solver.add(z3.Not(row))
        return found, seconds

    def crossing(
        self, rng: random.Random, sample: int
    ) -> tuple[dict[tuple[int, int], bool], float]:
        """Of a sample of pairs whether they cross, and the seconds that all pairs would take."""
        solver, seconds = self._solver(), 0.0
        crossing: dict[tuple[int, int], bool] = {}
        for _ in range(sample):
            one, other = sorted(rng.sample(range(len(self.rows)), 2))
            a, b = self.rows[one], self.rows[other]
            crosses = True
            for pair in ((a, b), (a, z3.Not(b)), (b, z3.Not(a))):
                crosses, took = timed(solver, *pair)
                seconds += took
                if not crosses:
                    break
            crossing[one, other] = crosses
        pairs = len(self.rows) * (len(self.rows) - 1) / 2
        return crossing, seconds / sample * pairs


def timed(solver: z3.Solver, *assumed: z3.BoolRef) -> tuple[bool, float]:
    """Whether it is satisfiable, and the seconds of the check alone."""
    began = time.perf_counter()
    answer = solver.check(*assumed)
    return answer == z3.sat, time.perf_counter() - began
