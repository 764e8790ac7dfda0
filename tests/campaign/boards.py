"""What the controllers are behind their addresses: five ways to keep pixels and to be told."""

# ruff: noqa: ARG002 - not every board cares for all of a request

from __future__ import annotations

from copy import deepcopy
from typing import Any, ClassVar, Final, TypeAlias

from tests.campaign.sites import PACES, Strip

#: What a stretch shows: its motion (``steady``, ``slow``, ``normal``), and each pixel's red, green
#: and blue as they come out at its drive, 0..255.
Light: TypeAlias = tuple[str, tuple[tuple[float, float, float], ...]]
#: One tile as its list has it.
Tile: TypeAlias = dict[str, Any]
_DARK_TILE: Final[Tile] = {"glaze": "000000", "glow": 0, "beat": "still"}


class Board:
    """Keeps what it was told, and forgets it when it restarts."""

    #: What it answers to whatever tells it something.
    thanks: ClassVar[object] = {}

    def __init__(self, name: str, strips: tuple[Strip, ...], now: int) -> None:
        self.name, self.strips = name, strips
        self.begin(now)

    def begin(self, now: int) -> None:
        """It gets power."""
        self.booted = now
        self.look_of_its_own()

    def look_of_its_own(self) -> None:
        """As at power-up, or as somebody sets it."""
        self.told: Any = {}

    def serve(self, method: str, path: list[str], body: dict[str, Any], now: int) -> object:
        """Take a request, and answer it."""
        raise NotImplementedError

    def light(self, strip: Strip) -> Light:
        """What comes out of a stretch."""
        raise NotImplementedError


class Bars(Board):
    """Numbered bars with an uptime, painted or with a motion of their own."""

    thanks: ClassVar[object] = {"done": True}

    def serve(self, method: str, path: list[str], body: dict[str, Any], now: int) -> object:
        """One bar is told, all are read."""
        if path == ["who"]:
            return {"name": "F-1", "count": 40}
        if method == "PUT":
            self.told[path[1]] = body
            return self.thanks
        bars = [{"bar": strip.number, **self._bar(strip)} for strip in self.strips]
        return {"list": bars, "awake": (now - self.booted) // 1000}

    def _bar(self, strip: Strip) -> dict[str, Any]:
        plain = {"paint": "302010", "drive": 700, "motion": "plain"}
        bar: dict[str, Any] = self.told.get(str(strip.number), plain)
        return bar

    def light(self, strip: Strip) -> Light:
        """Its cells, or one colour at its drive."""
        bar = self._bar(strip)
        if "cells" in bar:
            cells = bytes.fromhex(bar["cells"])
            return "steady", tuple(zip(cells[0::3], cells[1::3], cells[2::3], strict=True))
        motion = {"beat": "normal", "toll": "slow"}.get(bar["motion"], "steady")
        return motion, _filled(strip, tuple(bytes.fromhex(bar["paint"])), bar["drive"] / 4095)


class Beads(Board):
    """A string of single pixels that tells nothing."""

    def look_of_its_own(self) -> None:
        """A dull green."""
        self.told = [0x203000] * PACES[self.name].pixels

    def serve(self, method: str, path: list[str], body: dict[str, Any], now: int) -> object:
        """A stretch in one tint, or with a tint for each."""
        first = int(body["from"]) - 1
        if path == ["beads"]:
            tints = [int(body["tint"])] * (int(body["to"]) - first)
        else:
            tints = body["tints"]
        self.told[first : first + len(tints)] = tints
        return self.thanks

    def light(self, strip: Strip) -> Light:
        """Green comes before red."""
        beads = self.told[strip.first : strip.first + strip.length]
        return "steady", tuple((b >> 8 & 255, b >> 16, b & 255) for b in beads)


class Shelves(Board):
    """Shelves by name, with a mark of the boot."""

    def serve(self, method: str, path: list[str], body: dict[str, Any], now: int) -> object:
        """Those that are named are told, all are read."""
        if path == ["plate"]:
            return {"called": "oak sill"}
        if method == "POST":
            self.told |= {shelf["shelf"]: shelf for shelf in body["put"]}
            return self.thanks
        shelves = {f"shelf-{strip.number}": self._shelf(strip) for strip in self.strips}
        return {"shelves": shelves, "since": f"boot {self.booted}"}

    def _shelf(self, strip: Strip) -> dict[str, Any]:
        plain = {"tint": "rgb(9, 9, 9)", "shine": "40 %", "way": 0}
        shelf: dict[str, Any] = self.told.get(f"shelf-{strip.number}", plain)
        return shelf

    def light(self, strip: Strip) -> Light:
        """One colour at its shine."""
        shelf = self._shelf(strip)
        motion = {6: "normal", 9: "slow"}.get(shelf["way"], "steady")
        colour = tuple(int(channel) for channel in shelf["tint"][4:-1].split(","))
        return motion, _filled(strip, colour, int(shelf["shine"].removesuffix(" %")) / 100)


class Cords(Board):
    """Cords by number, painted whole, with a mark of the boot."""

    def serve(self, method: str, path: list[str], body: dict[str, Any], now: int) -> object:
        """One is painted, all are read."""
        if method == "PUT":
            self.told[path[1]] = body["hues"]
            return self.thanks
        cords = [{"cord": strip.number, "hues": self._hues(strip)} for strip in self.strips]
        return {"cords": cords, "since": f"boot {self.booted}"}

    def _hues(self, strip: Strip) -> str:
        hues: str = self.told.get(str(strip.number), "040302" * strip.length)
        return hues

    def light(self, strip: Strip) -> Light:
        """Pixel by pixel."""
        hues = bytes.fromhex(self._hues(strip))
        return "steady", tuple(zip(hues[0::3], hues[1::3], hues[2::3], strict=True))


class Tiles(Board):
    """One list of everything, which is what it is told last: a tile that is left out is dark.

    Some tiles are no bridge's: somebody sets them at the board's own page.
    """

    def look_of_its_own(self) -> None:
        """Every tile dull, those of others too."""
        numbers = sorted({strip.number for strip in self.strips} | set(THEIRS[self.name]))
        plain = {"glaze": "0A1408", "glow": 90, "beat": "still"}
        self.told = [{"tile": number, **plain} for number in numbers]

    def serve(self, method: str, path: list[str], body: dict[str, Any], now: int) -> object:
        """All at once."""
        if path == ["tag"]:
            return {"tag": f"{self.name} 7"}
        if method == "POST":
            self.told = body["tiles"]
            return self.thanks
        return {"tiles": deepcopy(self.told), "since": f"{self.name} {self.booted}"}

    def set_tile(self, tile: Tile) -> None:
        """Somebody sets one at its own page."""
        others = [each for each in self.told if each["tile"] != tile["tile"]]
        self.told = sorted([*others, tile], key=lambda each: int(each["tile"]))

    @property
    def theirs(self) -> list[Tile]:
        """The tiles that no bridge owns."""
        return theirs_of(self.ours, self.told)

    @property
    def ours(self) -> frozenset[int]:
        """The numbers of those that are a segment's."""
        return frozenset(strip.number for strip in self.strips)

    def light(self, strip: Strip) -> Light:
        """One colour at its glow."""
        found = (tile for tile in self.told if tile["tile"] == strip.number)
        tile = next(found, _DARK_TILE)
        motion = {"quick": "normal", "easy": "slow"}.get(tile["beat"], "steady")
        return motion, _filled(strip, tuple(bytes.fromhex(tile["glaze"])), tile["glow"] / 200)


#: The tiles of each board that are no bridge's, and where their pixels are: first and how many.
THEIRS: Final = {"beam": {5: (16, 6), 9: (22, 6)}, "rail": {4: (12, 8)}}
BOARDS: Final[dict[str, type[Board]]] = {
    "frame": Bars,
    "rack": Beads,
    "sill": Shelves,
    "hood": Cords,
    "beam": Tiles,
    "rail": Tiles,
}


def theirs_of(ours: frozenset[int], tiles: list[Tile]) -> list[Tile]:
    """Those of a list that are no segment's, in the order of their numbers."""
    return sorted(
        (tile for tile in tiles if tile["tile"] not in ours), key=lambda each: int(each["tile"])
    )


def _filled(
    strip: Strip, colour: tuple[int, ...], drive: float
) -> tuple[tuple[float, float, float], ...]:
    red, green, blue = (channel * drive for channel in colour)
    return ((red, green, blue),) * strip.length
