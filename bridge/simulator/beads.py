"""Dialect ``beads``: no segments, beads counted from 1, one integer a colour, green first."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

from bridge.simulator.controllers import (
    RefusedError,
    Reply,
    SimulatedController,
    json_of,
    member,
    whole,
    whole_text,
)
from bridge.simulator.pixels import POWER_UP

BEATS_MS: Final = {"still": 0, "wink": 700, "nod": 2000}
#: The habit of beads that were strung one by one, and of a stretch whose beads differ in habit.
STRUNG: Final = "strung"
_MOST: Final = 0xFFFFFF


class Bead(NamedTuple):
    """What one bead was told."""

    tint: int
    lit: bool
    habit: str


class Beads(SimulatedController):
    """Remembers each bead by itself, so that any stretch can be asked about."""

    def __init__(self, name: str, pixels: int, *, now_ms: int = 0) -> None:
        super().__init__(name, pixels, now_ms=now_ms)
        self._beads: list[Bead] = []
        self._forget()

    def _forget(self) -> None:
        self._beads = [Bead(tint_of(POWER_UP), lit=True, habit="still")] * self.board.pixels

    def _refusal(self, why: str) -> object:
        return {"sorry": why}

    def _answer(
        self, method: str, path: str, query: Mapping[str, str], body: bytes, now_ms: int
    ) -> Reply:
        match method, path:
            case "GET", "/tag":
                return 200, {"serial": self.tag, "threaded": self.board.pixels}
            case "GET", "/beads":
                return 200, self._look(self._range(query), now_ms)
            case "POST", "/beads":
                return self._set(self._range(query), query)
            case "POST", "/beads/string":
                return self._string(json_of(body))
            case _:
                raise RefusedError(404, f"nothing at {method} {path}")

    def _range(self, query: Mapping[str, str]) -> range:
        first = whole_text(query.get("from"), 1, self.board.pixels, "from")
        last = whole_text(query.get("to"), first, self.board.pixels, "to")
        return range(first - 1, last)

    def _look(self, beads: range, now_ms: int) -> object:
        seen = {self._beads[index] for index in beads}
        common = seen.pop() if len(seen) == 1 else None
        look: dict[str, object] = {"woke_ago": self.board.awake_ms(now_ms)}
        if common is None or common.habit == STRUNG:
            return {**look, "habit": STRUNG, "tints": [self._beads[index].tint for index in beads]}
        return {
            **look,
            "habit": common.habit,
            "tint": common.tint,
            "lit": "yes" if common.lit else "no",
        }

    def _set(self, beads: range, query: Mapping[str, str]) -> Reply:
        tint = whole_text(query.get("tint"), 0, _MOST, "tint")
        lit, habit = query.get("lit"), query.get("habit", "")
        if lit not in {"yes", "no"}:
            raise RefusedError(422, "lit wants yes or no")
        if habit not in BEATS_MS:
            raise RefusedError(422, f"habit wants one of {', '.join(BEATS_MS)}")
        if self._keeps():
            self._thread(beads, Bead(tint_of(self._kept(cell_of(tint))), lit == "yes", habit))
        return 204, None

    def _thread(self, beads: range, bead: Bead) -> None:
        self._beads[beads.start : beads.stop] = [bead] * len(beads)
        cell = cell_of(bead.tint) if bead.lit else bytes(3)
        self._lay(beads.start, cell * len(beads), BEATS_MS[bead.habit])

    def _darken(self) -> None:
        self._thread(range(self.board.pixels), Bead(0, lit=False, habit="still"))

    def _string(self, wish: object) -> Reply:
        first = whole(member(wish, "from"), 1, self.board.pixels, "from") - 1
        tints = member(wish, "tints")
        room = self.board.pixels - first
        if not isinstance(tints, list) or not 1 <= len(tints) <= room:
            raise RefusedError(422, f"tints wants 1 to {room} tints from there")
        values = [whole(tint, 0, _MOST, "tints") for tint in tints]
        if self._keeps():
            cells = [self._kept(cell_of(tint)) for tint in values]
            strung = [Bead(tint_of(cell), lit=True, habit=STRUNG) for cell in cells]
            self._beads[first : first + len(strung)] = strung
            self._lay(first, b"".join(cells))
        return 204, None


def cell_of(tint: int) -> bytes:
    """Red, green, blue of a tint, which has green in its highest byte."""
    return bytes((tint >> 8 & 255, tint >> 16, tint & 255))


def tint_of(cell: bytes) -> int:
    """The tint of red, green, blue."""
    red, green, blue = cell
    return green << 16 | red << 8 | blue
