"""``lampwright return-to-service``: an alarm of a printer lights again."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.wishing import add_site_option, add_who, wish_once


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "return-to-service",
        help=COMMANDS["return-to-service"],
        description="Puts an alarm of one printer back in service.",
        epilog="example: lampwright return-to-service door-open --printer plover",
    )
    parser.add_argument("alarm", metavar="ALARM", help="the alarm's name")
    parser.add_argument("--printer", required=True, metavar="P", help="whose alarm it is")
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    said = {
        "wish": "return-to-service",
        "alarm": arguments.alarm,
        "printer": arguments.printer,
    }
    return wish_once(said, arguments)
