"""``lampwright shelve``: put an alarm of a printer aside for a time."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.durations import duration_ms
from bridge.cli.wishing import (
    add_alarm,
    add_reason,
    add_site_option,
    add_who,
    wish_about_alarm,
)


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "shelve",
        help=COMMANDS["shelve"],
        description="Puts an alarm of one printer aside: it lights nothing until the time is over, "
        "then stands again by itself if it still is.",
        epilog="example: lampwright shelve material-out --printer kestrel --for 2h --reason "
        "'the spool is on its way'",
    )
    add_alarm(parser)
    parser.add_argument(
        "--for",
        dest="for_ms",
        type=duration_ms,
        required=True,
        metavar="TIME",
        help="for how long, for example 30m or 2h",
    )
    add_reason(parser)
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    more = {"for_ms": arguments.for_ms, "reason": arguments.reason}
    return wish_about_alarm("shelve", arguments, **more)
