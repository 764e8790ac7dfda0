"""A switchboard for the simulated controllers: what is wrong with each, over HTTP, while they run.

``GET /`` tells everything. ``PUT /NAME`` with ``{"loses": 2}`` switches faults of one, ``DELETE
/NAME`` mends it; ``POST /NAME/reboot`` takes its power for a moment, ``POST /NAME/darken`` is
somebody at its own button.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict

from aiohttp import web

from bridge.simulator.controllers import SimulatedController
from bridge.simulator.servers import Clock, Server


def switchboard(controllers: Mapping[str, SimulatedController], clock: Clock) -> Server:
    """At a URL of its own, so that no controller's own answers change."""

    async def handler(request: web.Request) -> web.StreamResponse:
        name, _, deed = request.path.strip("/").partition("/")
        if not name:
            return web.json_response({each: _told(board) for each, board in controllers.items()})
        board = controllers.get(name)
        if board is None:
            return _no(404, f"no controller {name}, expected {', '.join(controllers)}")
        match request.method, deed:
            case "PUT", "":
                wrong = _switched(board, await request.read())
                if wrong:
                    return _no(422, wrong)
            case "DELETE", "":
                board.faults.clear()
            case "POST", "reboot":
                board.reboot(clock())
            case "POST", "darken":
                board.darken(clock())
            case "GET", "":
                pass
            case _:
                return _no(404, f"nothing at {request.method} /NAME/{deed}, see GET /")
        return web.json_response(_told(board))

    return Server(handler)


def _switched(board: SimulatedController, body: bytes) -> str:
    """Why not, where it cannot be."""
    try:
        wishes = json.loads(body)
        if not isinstance(wishes, dict):
            return 'expected an object of faults, for example {"loses": 2}'
        board.faults.switch(wishes)
    except ValueError as error:
        return str(error)
    return ""


def _told(board: SimulatedController) -> dict[str, object]:
    return {
        "asked": len(board.asked_ms),
        "writes": board.writes,
        "lost": board.lost,
        "faults": asdict(board.faults),
    }


def _no(status: int, why: str) -> web.Response:
    return web.json_response({"why": why}, status=status)
