"""``lampwright out-of-service``: an alarm of a printer that lights nothing until it is returned."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.wishing import add_alarm, add_reason, add_site_option, add_who, wish_about_alarm


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
    add_alarm(parser)
    add_reason(parser)
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    return wish_about_alarm("out-of-service", arguments, reason=arguments.reason)
