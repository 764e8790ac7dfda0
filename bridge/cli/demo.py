"""``lampwright demo``: an evening at the club in a minute, real bridge and real sockets, judged."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS

if TYPE_CHECKING:
    from bridge.cli.evening import Evening
    from bridge.cli.evening_picture import Picture

_LEAST_S, _USUAL_S, _MOST_S = 40.0, 60.0, 3600.0


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "demo",
        help=COMMANDS["demo"],
        description="Starts a broker, simulated printers and controllers, and the real bridge "
        "between them, draws what happens, and judges what the controllers' pixels showed against "
        "a second reading of the printers' true state. Everything is on the loopback and ends "
        "with the command.",
        epilog="Exit codes: 0 every look was right, 1 something differed, 2 it could not be held. "
        "example: lampwright demo --plain",
    )
    parser.add_argument("--json", action="store_true", help="only the result, as JSON")
    parser.add_argument(
        "--seconds",
        type=_seconds,
        default=_USUAL_S,
        help=f"how long the evening takes (default {_USUAL_S:g}, at least {_LEAST_S:g})",
    )
    parser.add_argument("--plain", action="store_true", help="one line for each thing, no drawing")
    parser.add_argument(
        "--site",
        metavar="DIR",
        type=Path,
        help="a changed copy of the example site to play in (default: the example itself)",
    )
    parser.set_defaults(run=run)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not _LEAST_S <= seconds <= _MOST_S:
        # Shorter, the scenes would change before they could be judged.
        raise argparse.ArgumentTypeError(f"'{text}' is not from {_LEAST_S:g} to {_MOST_S:g}")
    return seconds


def run(arguments: argparse.Namespace) -> int:
    """Hold the evening, and tell how it went."""
    import asyncio
    import tempfile

    from bridge.cli.evening import DemoError, Evening
    from bridge.cli.hurried import example_directory
    from bridge.simulator.brokers import NoBrokerError, mosquitto_path, start_broker

    try:
        broker = start_broker(mosquitto_path())
    except NoBrokerError as error:
        raise DemoError(str(error)) from error
    picture = _picture(arguments)
    picture.say("     ", f"the broker is {broker.name}, on port {broker.port}")
    try:
        with tempfile.TemporaryDirectory(prefix="lampwright-demo-") as directory:
            site = arguments.site or example_directory()
            evening = Evening(arguments.seconds, picture, broker, site, Path(directory))
            asyncio.run(evening.hold())
    except asyncio.CancelledError:
        return 130
    finally:
        broker.stop()
    return _told(evening, as_json=arguments.json)


def _picture(arguments: argparse.Namespace) -> Picture:
    import os
    import sys

    from bridge.cli.drawing import colours_for
    from bridge.cli.evening_picture import InPlace, Lines, Silence

    if arguments.json:
        return Silence()
    if arguments.plain or not sys.stdout.isatty() or os.environ.get("TERM") == "dumb":
        return Lines(sys.stdout)
    return InPlace(sys.stdout, colours_for(sys.stdout, os.environ))


def _told(evening: Evening, *, as_json: bool) -> int:
    import json

    from bridge.cli.evening_picture import summary_lines
    from bridge.simulator.inspection import summed_up

    result = evening.result()
    if as_json:
        print(json.dumps(result))
        return 0 if result["ok"] else 1
    counts = ", ".join(f"{result[name]} {name}" for name in ("messages", "decisions", "requests"))
    print(f"\n{counts} over {result['broker']}")
    print("\n".join(summary_lines(result["segments"], summed_up(evening.verdicts))))
    print("every look was right" if result["ok"] else "something differed")
    return 0 if result["ok"] else 1
