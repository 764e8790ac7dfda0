"""``lampwright collected``: what a printer waited for was done."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.occurrences import COLLECTED, add_which, wish_each


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "collected",
        help=COMMANDS["collected"],
        description="Ends the one prompt that waits, or those that are named, such as a finished "
        "part to be taken out.",
        epilog="example: lampwright collected --printer plover",
    )
    add_which(parser, COLLECTED)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    return wish_each(COLLECTED, arguments)
