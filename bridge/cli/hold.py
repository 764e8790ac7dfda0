"""``lampwright hold``: segments show a scene that a person chose."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.durations import duration_ms
from bridge.cli.wishing import add_site_option, add_who, wish_once


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "hold",
        help=COMMANDS["hold"],
        description="Lets segments, or named sets of them, show a scene instead of what the rules "
        "decide; 'all' are all of them. Alarms that nobody acknowledged still show. "
        "Where a segment has printers, it must end by a time and the scene must say "
        "resting.",
        epilog="example: lampwright hold all dark --for 8h",
    )
    parser.add_argument(
        "segments", nargs="+", metavar="SEGMENT", help="segments or sets of them, or all"
    )
    parser.add_argument("scene", metavar="SCENE", help="what they show, last of the bare words")
    parser.add_argument(
        "--for",
        dest="for_ms",
        type=duration_ms,
        metavar="TIME",
        help="for how long, for example 30m or 2h (default: until released)",
    )
    add_site_option(parser)
    add_who(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Wish it."""
    said = {
        "wish": "hold",
        "segments": arguments.segments,
        "scene": arguments.scene,
        "for_ms": arguments.for_ms,
    }
    return wish_once(said, arguments)
