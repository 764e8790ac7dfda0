"""Dialect ``shelves``: shelves by name, hue in tenths of a degree, the level inside the shine."""

from __future__ import annotations

import colorsys
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bridge.simulator.controllers import (
    RefusedError,
    Reply,
    SimulatedController,
    json_of,
    member,
    whole,
    whole_text,
)
from bridge.simulator.pixels import rounded

TURN: Final = 3600
FULL: Final = 1000
BEATS_MS: Final = {0: 0, 6: 600, 9: 1500}
#: The way of a shelf that was stroked by hand.
STROKED: Final = 30
_INK = re.compile(r"rgb\((\d{1,3}), ?(\d{1,3}), ?(\d{1,3})\)")
_NAME = "shelf-"


@dataclass(frozen=True, slots=True)
class Shelf:
    """How one shelf was set."""

    turn: int | None
    depth: int | None
    shine: int | None
    way: int


class Shelves(SimulatedController):
    """``shelves`` is each shelf's first pixel and length, by its number in the name."""

    def __init__(
        self, name: str, pixels: int, shelves: Mapping[int, tuple[int, int]], *, now_ms: int = 0
    ) -> None:
        super().__init__(name, pixels, now_ms=now_ms)
        self._ranges = {f"{_NAME}{number}": place for number, place in shelves.items()}
        self._shelves: dict[str, Shelf] = {}
        self._forget()

    def _forget(self) -> None:
        self._shelves = dict.fromkeys(self._ranges, Shelf(300, 889, 71, 0))

    def _refusal(self, why: str) -> object:
        return {"taken": 0, "grumble": why}

    def _answer(
        self, method: str, path: str, query: Mapping[str, str], body: bytes, now_ms: int
    ) -> Reply:
        match method, path:
            case "GET", "/plate":
                return 200, {"maker": {"calls-it": self.tag, "points": self.board.pixels}}
            case "GET", "/shelves":
                return 200, {"since": self._mark(), "shelves": self._list()}
            case "POST", "/shelves":
                return self._set(json_of(body))
            case "GET", "/strokes":
                return 200, {"since": self._mark(), **self._inks(query.get("on", ""), now_ms)}
            case "POST", "/strokes":
                return self._stroke(query.get("on", ""), json_of(body))
            case _:
                raise RefusedError(404, f"nothing at {method} {path}")

    def _mark(self) -> str:
        # Unlike at every power-up and never in any order, as a drawn number would be.
        return f"{self.board.boots * 40_503 % 65_536:04x}"

    def _list(self) -> object:
        return {
            name: {"turn": s.turn, "depth": s.depth, "shine": s.shine, "way": s.way}
            for name, s in self._shelves.items()
        }

    def _inks(self, name: str, now_ms: int) -> dict[str, object]:
        first, length = self._ranges[self._known(name)]
        if self._shelves[name].way != STROKED:
            return {"inks": None}
        run = self.board.frame(now_ms)
        cells = (run[3 * at : 3 * at + 3] for at in range(first, first + length))
        return {"inks": ["rgb({}, {}, {})".format(*cell) for cell in cells]}

    def _set(self, wish: object) -> Reply:
        if not isinstance(wish, dict) or not wish:
            raise RefusedError(400, "shelves by name are wanted")
        # All or nothing: whatever is wrong with one, none is touched.
        shelves = {self._known(name): self._shelf(item) for name, item in wish.items()}
        for name, shelf in shelves.items():
            if self._keeps():
                self._put(name, shelf)
        return 200, {"taken": len(shelves)}

    def _put(self, name: str, shelf: Shelf) -> None:
        self._shelves[name] = shelf
        first, length = self._ranges[name]
        self._lay(first, _cell(shelf) * length, BEATS_MS[shelf.way])

    def _darken(self) -> None:
        for name in self._shelves:
            self._put(name, Shelf(0, 0, 0, 0))

    def _stroke(self, name: str, wish: object) -> Reply:
        first, length = self._ranges[self._known(name)]
        if not isinstance(wish, list) or not wish:
            raise RefusedError(400, "a list of strokes is wanted")
        strokes = [_stroke(item, first, first + length - 1) for item in wish]
        if self._keeps():
            for start, cells in strokes:
                self._lay(start, self._kept(cells))
            self._shelves[name] = Shelf(None, None, None, STROKED)
        return 200, {"taken": 1}

    def _shelf(self, item: object) -> Shelf:
        way = member(item, "way")
        if isinstance(way, bool) or not isinstance(way, int) or way not in BEATS_MS:
            raise RefusedError(422, f"way wants one of {', '.join(map(str, BEATS_MS))}")
        turn, depth, shine = (
            round(self._coarse(whole(member(item, name), 0, most, name), most))
            for name, most in (("turn", TURN), ("depth", FULL), ("shine", FULL))
        )
        return Shelf(turn, depth, shine, way)

    def _known(self, name: str) -> str:
        if name not in self._ranges:
            raise RefusedError(404, f"no {name}")
        return name


def _cell(shelf: Shelf) -> bytes:
    turn, depth, shine = (part or 0 for part in (shelf.turn, shelf.depth, shelf.shine))
    parts = colorsys.hsv_to_rgb(turn / TURN, depth / FULL, shine / FULL)
    return bytes(rounded(part * 255) for part in parts)


def _stroke(item: object, least: int, most: int) -> tuple[int, bytes]:
    first = whole(member(item, "from"), least, most, "from")
    last = whole(member(item, "to"), first, most, "to")
    ink = member(item, "ink")
    found = _INK.fullmatch(ink) if isinstance(ink, str) else None
    if not found:
        raise RefusedError(422, "ink wants rgb(red, green, blue)")
    cell = bytes(whole_text(part, 0, 255, "ink") for part in found.groups())
    return first, cell * (last - first + 1)
