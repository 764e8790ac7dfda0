"""``lampwright``: which command, and how its end is told."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence

from bridge import __version__
from bridge.cli import check, completion, demo, explain, preview, run, schema, simulate
from bridge.errors import LampwrightError
from bridge.one_line import one_line

_COMMANDS = (run, check, preview, explain, demo, simulate, schema, completion)


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = argparse.ArgumentParser(
        prog="lampwright",
        description="Light strips that tell, without turning round, how the printers are doing.",
        epilog="Exit codes: 0 fine, 1 findings, 2 unusable input. The lights inform; they are "
        "no safety device.",
    )
    top.add_argument("--version", action="version", version=f"lampwright {__version__}")
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in _COMMANDS:
        command.add(commands)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal that has no such character gets another one, and no trace.
        sys.stdout.reconfigure(errors="replace")
    given = parser().parse_args(arguments)
    try:
        code = int(given.run(given))
        sys.stdout.flush()
    except LampwrightError as error:
        for line in error.lines():
            print(one_line(line), file=sys.stderr)
        return error.exit_code
    except BrokenPipeError:
        # Whoever read the output has seen enough. What is still to be written at exit goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        return 130
    return code
