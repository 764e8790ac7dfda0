"""``python -m tests.benchmarks [--only GROUP] [--json FILE] [--quick]``."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks import commands, decisions, pipeline
from tests.benchmarks.result import Result, table, write

GROUPS: dict[str, Callable[[bool], list[Result]]] = {
    "commands": commands.measure,
    "decisions": decisions.measure,
    "pipeline": pipeline.measure,
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
    if given.json:
        write(given.json, results)
    return 0 if all(each.met for each in results) else 1


if __name__ == "__main__":
    sys.exit(main())
