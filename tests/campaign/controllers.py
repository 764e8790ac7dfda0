"""Simulated controllers: three ways to speak, pixels that are kept, and bad days."""

from __future__ import annotations

import json
from typing import Any, Protocol, TypeAlias
from urllib.parse import parse_qsl, urlsplit

from bridge.engine.actions import Request
from bridge.engine.events import Answered, Fate, Unanswered
from tests.campaign.sites import PACES, Strip
from tests.campaign.world import World

#: What a stretch shows: its motion (``steady``, ``slow``, ``normal``), and each pixel's red, green
#: and blue as they come out at its drive, 0..255.
Light: TypeAlias = tuple[str, tuple[tuple[float, float, float], ...]]


class Touched(Protocol):
    """Told that a controller's light may be another."""

    def __call__(self, controller: str, *, upset: bool, slow_until: int = 0) -> None:
        """``upset``: anybody but the bridge that lives now did it, or its pace changed."""


class Controller:
    """Takes requests after a while, answers after another, forgets when it restarts."""

    def __init__(
        self, name: str, world: World, strips: tuple[Strip, ...], touched: Touched
    ) -> None:
        self.name = name
        self._world, self._strips, self._touched = world, strips, touched
        self._mode, self._until = "", 0
        self._restart()

    def _restart(self) -> None:
        self._booted = self._world.now
        self._look_of_its_own()

    def _look_of_its_own(self) -> None:
        self._told: dict[str, dict[str, Any]] = {}
        self._beads = [0x203000] * PACES[self.name].pixels

    def fail(self, seconds: int) -> str:
        """Restart, be switched by a person, or be slow, unreachable, silent or rude for a while."""
        chance, now = self._world.chance, self._world.now
        modes = ("restarts", "restarts", "touched", "slow", "unreachable", "silent", "rude")
        mode, lasts_ms = chance.choice(modes), seconds * 1000
        if mode == "restarts":
            self._restart()
            mode, lasts_ms = "unreachable", chance.choice((200, 4000))
        if mode == "touched":
            self._look_of_its_own()
        else:
            self._mode, self._until = mode, now + lasts_ms
        self._touched(self.name, upset=True, slow_until=self._until if mode == "slow" else 0)
        return f"controller {mode}" if self._booted < now else "controller restarts"

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
        world = self._world
        applied_ms = world.chance.choice((None, None, 30, 30, timeout_ms + 700))
        if applied_ms is not None:
            late = applied_ms > timeout_ms

            def arrive() -> None:
                self._apply(request, late=late)

            world.after(applied_ms, arrive)
        world.to_bridge(Unanswered(request.number, Fate.MAYBE_APPLIED, "no answer"), timeout_ms)

    def _refuse(self, request: Request) -> None:
        status, wait_ms = self._world.chance.choice(((500, None), (429, 2000), (503, 4000)))
        if status == 500 and self._world.chance.random() < 0.5:
            self._apply(request, late=False)
        self._world.to_bridge(Answered(request.number, status, b"", wait_ms), 20)

    def _serve(self, request: Request, between_ms: tuple[int, int]) -> None:
        world, life = self._world, self._world.life

        def arrive() -> None:
            reply = self._apply(request, late=life != world.life)
            if reply != b"{}" and world.happens("reply garbled", 0.003):
                reply = b'{"done": fal'
            if life == world.life:
                world.to_bridge(
                    Answered(request.number, 200, reply), world.chance.randint(*between_ms)
                )

        world.after(world.chance.randint(*between_ms), arrive)

    def _apply(self, request: Request, *, late: bool) -> bytes:
        parts = urlsplit(request.target)
        body = json.loads(request.body or b"{}") | dict(parse_qsl(parts.query))
        serve = {"frame": self._bars, "rack": self._string, "sill": self._shelves}[self.name]
        reply = serve(request.method, parts.path.split("/")[1:], body)
        self._touched(self.name, upset=late)
        return json.dumps(reply).encode()

    def _bars(self, method: str, path: list[str], body: dict[str, Any]) -> object:
        if path == ["who"]:
            return {"name": "F-1", "count": 40}
        if method == "PUT":
            self._told[path[1]] = body
            return {"done": True}
        bars = [{"bar": strip.number, **self._bar(strip)} for strip in self._strips]
        return {"list": bars, "awake": (self._world.now - self._booted) // 1000}

    def _bar(self, strip: Strip) -> dict[str, Any]:
        plain = {"paint": "302010", "drive": 700, "motion": "plain"}
        return self._told.get(str(strip.number), plain)

    def _string(self, _: str, path: list[str], body: dict[str, Any]) -> object:
        first = int(body["from"]) - 1
        if path == ["beads"]:
            tints = [int(body["tint"])] * (int(body["to"]) - first)
        else:
            tints = body["tints"]
        self._beads[first : first + len(tints)] = tints
        return {}

    def _shelves(self, method: str, path: list[str], body: dict[str, Any]) -> object:
        if path == ["plate"]:
            return {"called": "oak sill"}
        if method == "POST":
            self._told |= {shelf["shelf"]: shelf for shelf in body["put"]}
            return {}
        shelves = {f"shelf-{strip.number}": self._shelf(strip) for strip in self._strips}
        return {"shelves": shelves, "since": f"boot {self._booted}"}

    def _shelf(self, strip: Strip) -> dict[str, Any]:
        plain = {"tint": "rgb(9, 9, 9)", "shine": "40 %", "way": 0}
        return self._told.get(f"shelf-{strip.number}", plain)

    def light(self, strip: Strip) -> Light:
        """What comes out of a stretch."""
        if self.name == "rack":
            beads = self._beads[strip.first : strip.first + strip.length]
            return "steady", tuple((b >> 8 & 255, b >> 16, b & 255) for b in beads)
        if self.name == "frame":
            bar = self._bar(strip)
            if "cells" in bar:
                cells = bytes.fromhex(bar["cells"])
                return "steady", tuple(zip(cells[0::3], cells[1::3], cells[2::3], strict=True))
            motion = {"beat": "normal", "toll": "slow"}.get(bar["motion"], "steady")
            colour, drive = tuple(bytes.fromhex(bar["paint"])), bar["drive"] / 4095
        else:
            shelf = self._shelf(strip)
            motion = {6: "normal", 9: "slow"}.get(shelf["way"], "steady")
            colour = tuple(int(channel) for channel in shelf["tint"][4:-1].split(","))
            drive = int(shelf["shine"].removesuffix(" %")) / 100
        red, green, blue = (channel * drive for channel in colour)
        return motion, ((red, green, blue),) * strip.length
