"""Group ``commands``: how long a person waits for the command line."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

from tests.benchmarks.result import Result

#: Longer than this and the shell feels slow.
HELP_WITHIN_S = 0.15
_OURS = (sys.executable, "-m", "bridge", "--help")
#: Nothing that parses a command line in Python can be faster.
_FLOOR = (sys.executable, "-c", "import argparse")


def measure(quick: bool) -> list[Result]:
    """Interleaved with its floor, which stands beside the figure; the goal is absolute."""
    repeats = 3 if quick else 15
    # The first of each writes and reads what the later ones find ready.
    for command in (_OURS, _FLOOR):
        _seconds(command)
    pairs = [(_seconds(_OURS), _seconds(_FLOOR)) for _ in range(repeats)]
    ours = [each for each, _ in pairs]
    floor = statistics.median(each for _, each in pairs)
    return [
        Result(
            name="help-seconds",
            value=statistics.median(ours),
            unit="s",
            against=f"import argparse alone: {floor:.3f} s",
            ratio=None,
            spread=(min(ours), max(ours)),
            goal=HELP_WITHIN_S,
        )
    ]


def _seconds(command: tuple[str, ...]) -> float:
    began = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, timeout=30)
    return time.perf_counter() - began
