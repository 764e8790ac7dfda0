"""``lampwright``: which command, and how its end is told."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Collection, Sequence
from importlib import import_module

from bridge import __version__
from bridge.cli.commands import COMMANDS, module_of
from bridge.errors import LampwrightError
from bridge.one_line import one_line


def parser(whole: Collection[str] = COMMANDS) -> argparse.ArgumentParser:
    """The command line; only the commands named have their own words, the rest just their help.

    A person waits for each import, and needs one command.
    """
    top = argparse.ArgumentParser(
        prog="lampwright",
        description="Light strips that tell, without turning round, how the printers are doing.",
        epilog="Exit codes: 0 fine, 1 findings, 2 unusable input. The lights inform; they are "
        "no safety device.",
    )
    top.add_argument("--version", action="version", version=f"lampwright {__version__}")
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name, purpose in COMMANDS.items():
        if name in whole:
            import_module(f"bridge.cli.{module_of(name)}").add(commands)
        else:
            commands.add_parser(name, help=purpose)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit code."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        # A terminal that has no such character gets another one, and no trace.
        sys.stdout.reconfigure(errors="replace")
    # What else is installed has no say in how settings are read; to look for such plug-ins,
    # pydantic would open a file of every package there is.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    words = sys.argv[1:] if arguments is None else list(arguments)
    given = parser(words[:1]).parse_args(words)
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
