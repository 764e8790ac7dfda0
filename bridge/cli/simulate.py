"""``lampwright simulate``: printers and controllers to try a site on, started by hand."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

from bridge.cli.commands import COMMANDS
from bridge.errors import LampwrightError

if TYPE_CHECKING:
    from bridge.simulator.life import Condition
    from bridge.simulator.servers import Server

_MQTT_PORT: Final = 1883
_LOOK_S: Final = 0.1
#: A life by chance is this long; afterwards the printers stay as they are.
_LIFE_MS: Final = 24 * 3_600_000


class SimulateError(LampwrightError):
    """The simulators could not be started as asked."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "simulate",
        help=COMMANDS["simulate"],
        description="Plays the printers or the controllers of the example site on this machine "
        "until interrupted, says where each can be reached, and prints a line for each change.",
        epilog="example: lampwright simulate printers --broker mqtt://127.0.0.1:1883 --pace 10",
    )
    kinds = parser.add_subparsers(metavar="printers|controllers", required=True)
    printers = kinds.add_parser(
        "printers", help="kestrel and heron on a broker, plover over HTTP; lives by chance"
    )
    printers.add_argument(
        "--broker",
        type=_broker,
        default=("127.0.0.1", _MQTT_PORT),
        metavar="URL",
        help="default mqtt://127.0.0.1",
    )
    printers.add_argument(
        "--port", type=_port, default=0, metavar="N", help="of plover (default: a free one)"
    )
    printers.add_argument("--seed", type=int, default=1, help="another seed is another life")
    printers.add_argument(
        "--pace", type=_pace, default=1.0, help="10 lives ten times as fast (default 1)"
    )
    printers.set_defaults(run=run_printers)
    controllers = kinds.add_parser(
        "controllers",
        help="door, rack and bench over HTTP, yard and pier as well, and a switchboard",
        description="Plays the example site's controllers, and two of other kinds, until "
        "interrupted. The switchboard makes them hard to please while they run: "
        "curl -X PUT -d '{\"loses\": 2}' URL/door; a GET of its URL tells what else there is.",
    )
    controllers.add_argument(
        "--port",
        type=_port,
        action="append",
        default=[],
        metavar="N",
        help="of door, then rack, bench, yard, pier and the switchboard (default: free ones)",
    )
    controllers.set_defaults(run=run_controllers)


def _broker(text: str) -> tuple[str, int]:
    wrong = argparse.ArgumentTypeError(f"'{text}' is no broker, expected mqtt://HOST[:PORT]")
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as error:
        raise wrong from error
    if parts.scheme != "mqtt" or not parts.hostname or parts.path.strip("/") or parts.username:
        raise wrong
    return parts.hostname, port or _MQTT_PORT


def _port(text: str) -> int:
    if not text.isdigit() or not int(text) <= 65_535:
        raise argparse.ArgumentTypeError(f"'{text}' is no port, expected 0 to 65535")
    return int(text)


def _pace(text: str) -> float:
    try:
        pace = float(text)
    except ValueError:
        pace = 0.0
    if not 0.1 <= pace <= 1000:
        raise argparse.ArgumentTypeError(f"'{text}' is no pace, expected 0.1 to 1000")
    return pace


def run_printers(arguments: argparse.Namespace) -> int:
    """Play the printers until interrupted."""
    import asyncio

    return asyncio.run(_printers(arguments))


def run_controllers(arguments: argparse.Namespace) -> int:
    """Play the controllers until interrupted."""
    import asyncio

    return asyncio.run(_controllers(arguments.port))


async def _printers(arguments: argparse.Namespace) -> int:
    import asyncio

    from bridge.simulator.evening import printers_by_chance
    from bridge.simulator.publisher import Publisher
    from bridge.simulator.servers import printer_server
    from bridge.simulator.stage import StageClock

    three = printers_by_chance(arguments.seed, _LIFE_MS, arguments.pace)
    clock = StageClock()
    server = printer_server(three.plover, clock)
    await _start(server, arguments.port, "plover", "/ledger")
    host, port = arguments.broker
    for talker in (three.kestrel, three.heron):
        print(f"{talker.name:<8} publishes to mqtt://{host}:{port}", flush=True)
    clock.rise()
    publishers = {
        talker.name: Publisher(talker, host, port, clock) for talker in (three.kestrel, three.heron)
    }
    async with asyncio.TaskGroup() as tasks:
        for name, publisher in publishers.items():
            tasks.create_task(publisher.live(), name=name)
        told: dict[str, object] = {}
        while True:
            await asyncio.sleep(_LOOK_S)
            for one in (three.kestrel, three.plover, three.heron):
                now = one.life.at(clock())
                alone = one.name in publishers and not publishers[one.name].connected and now.on
                if told.get(one.name) != (alone, _gist(now)):
                    told[one.name] = (alone, _gist(now))
                    _line(one.name, f"{now}{', but no broker answers' if alone else ''}")


def _gist(now: Condition) -> tuple[object, ...]:
    return now.doing, now.snag, now.closed, now.since_ms


async def _controllers(ports: list[int]) -> int:
    import asyncio
    import os
    import sys

    from bridge.cli.drawing import colours_for
    from bridge.scenes.terminal import draw
    from bridge.simulator.evening import controllers, guests
    from bridge.simulator.servers import controller_server
    from bridge.simulator.stage import running_ms
    from bridge.simulator.switchboard import switchboard

    boards = {**controllers(now_ms=running_ms()), **guests(now_ms=running_ms())}
    servers = {name: controller_server(board, running_ms) for name, board in boards.items()}
    servers["switchboard"] = switchboard(boards, running_ms)
    if len(ports) > len(servers):
        raise SimulateError(f"{len(ports)} ports given, there are {len(servers)} to listen on")
    wanted = [*ports, *[0] * (len(servers) - len(ports))]
    for (name, server), port in zip(servers.items(), wanted, strict=True):
        await _start(server, port, name)
    colours = colours_for(sys.stdout, os.environ)
    told: dict[str, object] = {}
    while True:
        for name, board in boards.items():
            is_lit = any(board.pixels(running_ms()))
            run = board.board.full() if is_lit else bytes(3 * board.board.pixels)
            if told.get(name) != (glows := (is_lit, dict(board.board.glows))):
                told[name] = glows
                _line(name, draw(run, colours=colours, width=60))
        await asyncio.sleep(_LOOK_S)


async def _start(server: Server, port: int, name: str, path: str = "") -> None:
    try:
        url = await server.start(port)
    except OSError as error:
        raise SimulateError(f"{name} cannot listen on port {port}: {error.strerror}") from error
    print(f"{name:<11} listens on {url}{path}", flush=True)


def _line(name: str, words: str) -> None:
    import time

    print(f"{time.strftime('%H:%M:%S')}  {name:<8} {words}", flush=True)
