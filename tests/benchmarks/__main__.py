"""``python -m tests.benchmarks [--only GROUP] [--json FILE] [--quick]``."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks import commands, controllers, decisions, pipeline, scenes
from tests.benchmarks.result import Result, table, write

GROUPS: dict[str, Callable[[bool], list[Result]]] = {
    "commands": commands.measure,
    "controllers": controllers.measure,
    "decisions": decisions.measure,
    "pipeline": pipeline.measure,
    "scenes": scenes.measure,
}
#: What others say of the same, below the table: other machines, so orders of magnitude only.
NOTES: dict[str, str] = {
    "decisions": """\
Published for overlaps and missing rules (Calvanese et al., Semantics and analysis of DMN decision
tables, Information Systems 78, 2018; JavaScript, one core of a 2.2 GHz i5; tables grown from
decision trees), in ms for about 500, 1000 and 1500 rules:
  7 columns:  1374,  2069,  13405 and  2173,  7029,  18263
  9 columns:  1100,  4935,  30554 and   529,  6557,  17649
Ours beside them: analyse-overlap-500 (8 columns, overlaps), check-1500 (8 columns, everything).
""",
}


def main() -> int:
    """Measure, print, and say by the exit code whether every goal is met."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--only", choices=sorted(GROUPS))
    parser.add_argument("--json", type=Path, metavar="FILE")
    parser.add_argument("--quick", action="store_true", help="fewer repeats: a smoke, no figures")
    given = parser.parse_args()
    # What is installed has its byte code beside it; so has what is measured, whatever is set here.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    chosen = [given.only] if given.only else list(GROUPS)
    results = [result for group in chosen for result in GROUPS[group](given.quick)]
    print(table(results))
    for note in (NOTES[group] for group in chosen if group in NOTES):
        print(f"\n{note}", end="")
    if given.json:
        write(given.json, results)
    return 0 if all(each.met for each in results) else 1


if __name__ == "__main__":
    sys.exit(main())
