"""``lampwright return-to-service``: an alarm of a printer lights again."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.wishing import add_alarm, add_site_option, add_who, wish_about_alarm


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "return-to-service",
        help=COMMANDS["return-to-service"],
        description="Puts an alarm of one printer back in service.",
        epilog="example: lampwright return-to-service door-open --printer plover",
    )
    add_alarm(parser)
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    return wish_about_alarm("return-to-service", arguments)
