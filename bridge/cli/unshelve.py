"""``lampwright unshelve``: take a shelved alarm back before its time."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.wishing import add_site_option, add_who, wish_once


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "unshelve",
        help=COMMANDS["unshelve"],
        description="Takes an alarm of one printer back that was put aside.",
        epilog="example: lampwright unshelve material-out --printer kestrel",
    )
    parser.add_argument("alarm", metavar="ALARM", help="the alarm's name")
    parser.add_argument("--printer", required=True, metavar="P", help="whose alarm it is")
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    said = {
        "wish": "unshelve",
        "alarm": arguments.alarm,
        "printer": arguments.printer,
    }
    return wish_once(said, arguments)
