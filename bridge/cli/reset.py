"""``lampwright reset``: end an alarm that latched."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.occurrences import RESET, add_which, wish_each


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "reset",
        help=COMMANDS["reset"],
        description="Ends what latched: alarms of sequence M or R that are over and were "
        "acknowledged.",
        epilog="example: lampwright reset --printer kestrel --alarm material-out",
    )
    add_which(parser, RESET)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    return wish_each(RESET, arguments)
