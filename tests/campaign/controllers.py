"""Simulated controllers at their addresses: slow, silent, rude, and back from a restart."""

from __future__ import annotations

import json
from typing import Protocol
from urllib.parse import parse_qsl, urlsplit

from bridge.engine.actions import Request
from bridge.engine.events import Answered, Fate, Unanswered
from tests.campaign.boards import Board, Tiles
from tests.campaign.neighbours import Neighbours
from tests.campaign.sites import PACES
from tests.campaign.world import World


class Bystander(Protocol):
    """Sees what becomes of a controller's light."""

    neighbours: Neighbours

    def touched(self, controller: str, *, upset: bool, slow_until: int = 0) -> None:
        """It may be another; ``upset``: by anybody but the bridge that lives, or its pace is."""

    def unlike(self, controller: str) -> None:
        """It may be unlike what the bridge that lives told last."""

    def taken(self, controller: str, segments: tuple[str, ...]) -> None:
        """It is what the bridge that lives told of these."""

    def moved(self, names: tuple[str, str], *, swapped: bool) -> None:
        """Two have each other's address, or, not ``swapped``, their own again."""


class Controller:
    """Takes requests after a while, answers after another, forgets when it restarts."""

    def __init__(self, board: Board, world: World, bystander: Bystander) -> None:
        self.name, self.board = board.name, board
        self._world, self._bystander = world, bystander
        self._mode, self._until = "", 0
        self._changed_by_itself()

    def _changed_by_itself(self) -> None:
        self._bystander.unlike(self.board.name)
        if isinstance(self.board, Tiles):
            self._bystander.neighbours.changed(self.board, self._world.now)

    def fail(self, seconds: int) -> str:
        """Restart, be switched by a person, or be slow, unreachable, silent or rude for a while."""
        chance, now = self._world.chance, self._world.now
        modes = ("restarts", "restarts", "touched", "slow", "unreachable", "silent", "rude")
        mode, lasts_ms = chance.choice(modes), seconds * 1000
        if mode == "restarts":
            self.board.begin(now)
            self._changed_by_itself()
            mode, lasts_ms = "unreachable", chance.choice((200, 4000))
        if mode == "touched":
            self.board.look_of_its_own()
            self._changed_by_itself()
        else:
            self.bear(mode, lasts_ms)
        for name in dict.fromkeys((self.name, self.board.name)):
            self._bystander.touched(
                name, upset=True, slow_until=self._until if mode == "slow" else 0
            )
        return f"controller {mode}" if self.board.booted < now else "controller restarts"

    def bear(self, mode: str, lasts_ms: int) -> None:
        """From now on and for so long it is that."""
        self._mode, self._until = mode, self._world.now + lasts_ms

    def receive(self, request: Request) -> None:
        """One request, on its way through the network and back."""
        world, mode = self._world, self._mode if self._world.now <= self._until else ""
        timeout_ms = PACES[self.name].timeout_ms
        if mode == "unreachable":
            world.to_bridge(Unanswered(request.number, Fate.NEVER_LEFT, "refused"), 4)
        elif world.happens("request never left", 0.01):
            world.to_bridge(Unanswered(request.number, Fate.NEVER_LEFT, "no way"), timeout_ms)
        elif mode == "silent" or world.happens("no reply", 0.02):
            self._lose(request, timeout_ms)
        elif mode == "rude" or world.happens("refused", 0.01):
            self._refuse(request)
        else:
            self._serve(request, (300, 900) if mode == "slow" else (2, 60))

    def _lose(self, request: Request, timeout_ms: int) -> None:
        """Request lost, reply lost, or applied only after the bridge gave up."""
        world, life = self._world, self._world.life
        applied_ms = world.chance.choice((None, None, 30, 30, timeout_ms + 700))
        if applied_ms is not None:
            late = applied_ms > timeout_ms

            def arrive() -> None:
                self._apply(request, life, late=late)

            world.after(applied_ms, arrive)
        world.to_bridge(Unanswered(request.number, Fate.MAYBE_APPLIED, "no answer"), timeout_ms)

    def _refuse(self, request: Request) -> None:
        world = self._world
        status, wait_ms = world.chance.choice(((500, None), (429, 2000), (503, 4000)))
        if status == 500 and world.chance.random() < 0.5:
            self._apply(request, world.life, late=False)
        world.to_bridge(Answered(request.number, status, b"", wait_ms), 20)

    def _serve(self, request: Request, between_ms: tuple[int, int]) -> None:
        world, life = self._world, self._world.life

        def arrive() -> None:
            if request.method != "GET" and world.happens("write lost", 0.01):
                reply = json.dumps(self.board.thanks).encode()
                # Nobody but a read-back can know: as if somebody had set it back.
                self._bystander.touched(self.board.name, upset=True)
                self._bystander.unlike(self.board.name)
            else:
                reply = self._apply(request, life, late=life != world.life)
            if reply != b"{}" and world.happens("reply garbled", 0.003):
                reply = b'{"done": fal'
            if life == world.life:
                world.to_bridge(
                    Answered(request.number, 200, reply), world.chance.randint(*between_ms)
                )

        world.after(world.chance.randint(*between_ms), arrive)

    def _apply(self, request: Request, life: int, *, late: bool) -> bytes:
        parts, board, now = urlsplit(request.target), self.board, self._world.now
        body = json.loads(request.body or b"{}") | dict(parse_qsl(parts.query))
        reply = board.serve(request.method, parts.path.split("/")[1:], body, now)
        if isinstance(board, Tiles):
            key = life, request.number
            self._bystander.neighbours.served(key, self.name, board, now)
        if request.method != "GET" and late:
            self._bystander.unlike(board.name)
        elif request.method != "GET":
            self._bystander.taken(board.name, request.segments)
        self._bystander.touched(board.name, upset=late)
        return json.dumps(reply).encode()


class Exchange:
    """Two of a kind get each other's address, and after a while their own again."""

    def __init__(
        self, world: World, pair: tuple[Controller, Controller], bystander: Bystander
    ) -> None:
        self._world, self._pair, self._bystander = world, pair, bystander
        self._is_swapped = False

    def fail(self, seconds: int) -> str:
        """Swapped, for longer than what else goes wrong; once is enough at a time."""
        if not self._is_swapped:
            self._exchange()
            self._world.after(seconds * 4000, self._exchange)
        return "addresses swapped"

    def _exchange(self) -> None:
        """Mostly they are away for a moment; sometimes nobody can notice."""
        chance, (one, other) = self._world.chance, self._pair
        self._is_swapped = not self._is_swapped
        one.board, other.board = other.board, one.board
        if chance.random() < 0.7:
            away_ms = chance.choice((200, 4000, 15_000))
            one.bear("unreachable", away_ms)
            other.bear("unreachable", away_ms)
        self._bystander.moved((one.name, other.name), swapped=self._is_swapped)
