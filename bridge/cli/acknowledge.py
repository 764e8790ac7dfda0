"""``lampwright acknowledge``: somebody has seen an alarm."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.occurrences import ACKNOWLEDGE, add_which, wish_each


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "acknowledge",
        help=COMMANDS["acknowledge"],
        description="Acknowledges the one alarm that waits for it, or those that are named: exactly"
        " the occurrences that stand now, never one that comes meanwhile. The light "
        "goes on telling, steadily, until the cause is gone.",
        epilog="example: lampwright acknowledge --printer kestrel",
    )
    add_which(parser, ACKNOWLEDGE)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    return wish_each(ACKNOWLEDGE, arguments)
