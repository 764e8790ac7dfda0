"""``lampwright unshelve``: take a shelved alarm back before its time."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.wishing import add_alarm, add_site_option, add_who, wish_about_alarm


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "unshelve",
        help=COMMANDS["unshelve"],
        description="Takes an alarm of one printer back that was put aside.",
        epilog="example: lampwright unshelve material-out --printer kestrel",
    )
    add_alarm(parser)
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    return wish_about_alarm("unshelve", arguments)
