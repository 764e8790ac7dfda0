"""``lampwright release``: segments that are held no more."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.wishing import add_site_option, add_who, wish_once


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "release",
        help=COMMANDS["release"],
        description="Ends the holds of segments, or of named sets of them: the rules decide again.",
        epilog="example: lampwright release all",
    )
    parser.add_argument(
        "segments", nargs="+", metavar="SEGMENT", help="segments or sets of them, or all"
    )
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    return wish_once({"wish": "release", "segments": arguments.segments}, arguments)
