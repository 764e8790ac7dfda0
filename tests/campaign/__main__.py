"""``python -m tests.campaign [--smoke | --seed N | --seeds A-B | --hours N]``."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from itertools import count, takewhile
from time import perf_counter

from tests.campaign.run import MINUTES, Outcome, run_seed

PRINTERS = 3
SMOKE_SECONDS = 18.0


def main() -> int:
    """Run what was asked for; 1 where a promise was broken."""
    asked = _arguments()
    began, faults = perf_counter(), Counter[str]()
    seeds = events = checks = failed = 0
    for seed in _seeds(asked, began):
        outcome = run_seed(seed)
        seeds, events, checks = seeds + 1, events + outcome.events, checks + outcome.checks
        faults += outcome.faults
        if asked.seed is not None:
            print(f"digest {outcome.digest}")
        if outcome.broken is not None:
            failed += 1
            _tell(seed, outcome)
            if failed == 5:
                break
    took, hours = perf_counter() - began, seeds * MINUTES / 60 * PRINTERS
    print(f"{events} events, {events / took:.0f}/s; {checks} checks, {checks / took:.0f}/s")
    print(f"{hours:.1f} printer-hours in {took:.1f} s, {hours / took * 3600:.0f} in an hour")
    for kind, times in sorted(faults.items()):
        print(f"{times:8} {kind}")
    print(f"{seeds - failed} passed, {failed} failed")
    return 1 if failed else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.campaign")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--smoke", action="store_true", help="about 20 s, for the build machine")
    which.add_argument("--seed", type=int, help="one seed, with its digest")
    which.add_argument("--seeds", type=_range, help="seeds A-B, both included")
    which.add_argument("--hours", type=float, help="for so many hours of real time")
    return parser.parse_args()


def _range(text: str) -> range:
    first, _, last = text.partition("-")
    return range(int(first), int(last) + 1)


def _seeds(asked: argparse.Namespace, began: float) -> Iterator[int]:
    if asked.seed is not None:
        return iter((asked.seed,))
    if asked.seeds is not None:
        return iter(asked.seeds)
    lasts = asked.hours * 3600 if asked.hours else SMOKE_SECONDS
    return takewhile(lambda _: perf_counter() - began < lasts, count(1))


def _tell(seed: int, outcome: Outcome) -> None:
    print(f"\nseed {seed} broke {outcome.broken}; the last that happened (ms):")
    print("\n".join(f"  {line:.200}" for line in outcome.story))
    print(f"again: python -m tests.campaign --seed {seed}\n")


if __name__ == "__main__":
    sys.exit(main())
