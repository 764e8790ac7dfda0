"""``lampwright out-of-service``: an alarm of a printer that lights nothing until it is returned."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.wishing import add_site_option, add_who, wish_once


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "out-of-service",
        help=COMMANDS["out-of-service"],
        description="Takes an alarm of one printer out of service until somebody returns it: for a "
        "sensor that is broken, or a part that is not there.",
        epilog="example: lampwright out-of-service door-open --printer plover --reason 'no "
        "door any more'",
    )
    parser.add_argument("alarm", metavar="ALARM", help="the alarm's name")
    parser.add_argument("--printer", required=True, metavar="P", help="whose alarm it is")
    parser.add_argument("--reason", required=True, metavar="TEXT", help="why, for those who ask")
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    said = {
        "wish": "out-of-service",
        "alarm": arguments.alarm,
        "printer": arguments.printer,
        "reason": arguments.reason,
    }
    return wish_once(said, arguments)
