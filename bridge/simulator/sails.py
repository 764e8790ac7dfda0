"""Dialect ``sails``: they are cut before they show, channels are shares of one, white has its own.

There is a yard that can be let down, a look at dawn that outlives the power, an ease from look to
look, and rags that somebody may hoist by hand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bridge.simulator.controllers import (
    RefusedError,
    Reply,
    SimulatedController,
    json_of,
    member,
    whole,
)
from bridge.simulator.pixels import Glow, rounded

Dye = tuple[float, float, float, float]
#: What somebody may hoist by hand: each cloth in turn.
RAGS: Final[Mapping[str, Sequence[Dye]]] = {
    "chequer": ((1, 0, 0, 0), (0, 0, 0, 1)),
    "dusk": ((0.4, 0.1, 0.3, 0),),
}
_LETTERS: Final = frozenset("ABCDEFGH")
#: An ease is told in these.
_HEAVE_MS: Final = 40
_MOST_HEAVES: Final = 1500


@dataclass(frozen=True, slots=True)
class Sail:
    """Where it is, and what it shows: a dye and how hard it is pressed, patches, or a rag."""

    luff: int
    cloths: int
    dye: Dye = (0, 0, 0, 0)
    press: float = 0.0
    patches: tuple[Dye, ...] = ()
    rag: str = ""


class Sails(SimulatedController):
    """A yard with room for as many sails as are cut."""

    def __init__(self, name: str, pixels: int, *, now_ms: int = 0) -> None:
        super().__init__(name, pixels, now_ms=now_ms)
        self._sails: dict[str, Sail] = {}
        self._up = True
        #: Stored where it outlives the power.
        self._dawn: tuple[Dye, float] = ((0.0706, 0.0392, 0.0078, 0), 1.0)
        self.dawns_written = 0
        self._forget()

    def _forget(self) -> None:
        self._sails, self._up = {}, True
        dye, press = self._dawn
        self.board.put(0, Glow(_cell(dye, press) * self.board.pixels))

    def pixels(self, now_ms: int) -> bytes:
        """Nothing while the yard is down."""
        return super().pixels(now_ms) if self._up else bytes(self.board.pixels * 3)

    def _darken(self) -> None:
        self._up = False

    def _refusal(self, why: str) -> object:
        return {"belay": why}

    def hoist(self, letter: str, rag: str, now_ms: int) -> None:
        """Somebody hoists a rag by hand."""
        self._now_ms = now_ms
        self._set(letter, replace(self._sails[letter], rag=rag))

    def _answer(
        self, method: str, path: str, query: Mapping[str, str], body: bytes, now_ms: int
    ) -> Reply:
        del query, now_ms
        match method, path.strip("/").split("/"):
            case "GET", ["plan"]:
                return 200, {"yard": self.tag, "cloths": self.board.pixels}
            case "GET", ["sails"]:
                items = {letter: _item(sail) for letter, sail in self._sails.items()}
                return 200, {"hoisted": self.board.boots, "up": self._up, "sails": items}
            case "PUT", ["up"]:
                return self._raise(json_of(body))
            case "GET", ["dawn"]:
                dye, press = self._dawn
                return 200, {"dye": list(dye), "press": press}
            case "PUT", ["dawn"]:
                return self._write_dawn(json_of(body))
            case "PUT", ["sails", letter, *rest] if letter in _LETTERS and len(rest) < 2:
                return self._change(letter, rest[0] if rest else "", json_of(body))
            case _:
                raise RefusedError(404, f"nothing at {method} {path}")

    def _raise(self, wish: object) -> Reply:
        if not isinstance(wish, bool):
            raise RefusedError(422, "up wants true or false")
        if self._keeps():
            self._up = wish
        return 200, {}

    def _write_dawn(self, wish: object) -> Reply:
        dawn = self._dye(member(wish, "dye")), _share(member(wish, "press"), "press")
        self.dawns_written += 1
        if self._keeps():
            self._dawn = dawn
        return 200, {}

    def _change(self, letter: str, what: str, wish: object) -> Reply:
        if what == "cut":
            return self._cut(letter, wish)
        if letter not in self._sails:
            raise RefusedError(409, f"no sail {letter} is cut")
        sail, ease_ms = replace(self._sails[letter], dye=(0, 0, 0, 0), patches=(), rag=""), 0
        if what == "":
            dye, press = self._dye(member(wish, "dye")), _share(member(wish, "press"), "press")
            ease_ms = whole(member(wish, "ease"), 0, _MOST_HEAVES, "ease") * _HEAVE_MS
            sail = replace(sail, dye=dye, press=press)
        elif what == "patches":
            sail = replace(sail, patches=self._patches(sail.cloths, member(wish, "patches")))
        elif what == "rag" and isinstance(wish, str) and wish in RAGS:
            sail = replace(sail, rag=wish)
        else:
            raise RefusedError(404, f"no such {what}")
        if self._keeps():
            self._set(letter, sail, ease_ms)
        return 200, {}

    def _cut(self, letter: str, wish: object) -> Reply:
        luff = whole(member(wish, "luff"), 0, self.board.pixels - 1, "luff")
        cloths = whole(member(wish, "cloths"), 1, self.board.pixels - luff, "cloths")
        if self._keeps():
            self._set(letter, Sail(luff, cloths))
        return 200, {}

    def _patches(self, cloths: int, wish: object) -> tuple[Dye, ...]:
        if not isinstance(wish, list) or len(wish) != cloths:
            raise RefusedError(422, f"patches wants {cloths} of them")
        return tuple(self._dye(each) for each in wish)

    def _dye(self, value: object) -> Dye:
        if not isinstance(value, list) or len(value) != len(_CHANNELS):
            raise RefusedError(422, "a dye wants four shares: red, green, blue, white")
        red, green, blue, white = (
            self._coarse(_share(part, name), 1.0)
            for part, name in zip(value, _CHANNELS, strict=True)
        )
        return red, green, blue, white

    def _set(self, letter: str, sail: Sail, ease_ms: int = 0) -> None:
        self._sails[letter] = sail
        dyes = sail.patches or RAGS.get(sail.rag) or (sail.dye,)
        press = 1.0 if sail.patches or sail.rag else sail.press
        cells = b"".join(_cell(dyes[at % len(dyes)], press) for at in range(sail.cloths))
        self._lay(sail.luff, cells, ease_ms=ease_ms)


_CHANNELS: Final = ("red", "green", "blue", "white")


def _share(value: object, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
        raise RefusedError(422, f"{what} wants a share from 0 to 1")
    return float(value)


def _cell(dye: Dye, press: float) -> bytes:
    """What the eye gets: white lights all three."""
    red, green, blue, white = dye
    return bytes(rounded((part + white) * press * 255) for part in (red, green, blue))


def _item(sail: Sail) -> dict[str, object]:
    where: dict[str, object] = {"luff": sail.luff, "cloths": sail.cloths}
    if sail.rag:
        return {**where, "rag": sail.rag}
    if sail.patches:
        return {**where, "patches": [list(each) for each in sail.patches]}
    return {**where, "dye": list(sail.dye), "press": sail.press}
