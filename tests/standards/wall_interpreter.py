"""What the club's wall must look like, from the requests alone.

A second reading of the three kinds of controller, written down from what their makers would say of
them, which shares no code with the bridge or its simulator: requests in, pixels out.
"""

from __future__ import annotations

import json
import re
from urllib.parse import parse_qs, urlsplit

Pixel = tuple[float, float, float]
#: By its own clock a motion shows its full look in the first half of each period, then a quarter;
#: 0 is what stands still. A word that is not here is one that no maker told of.
MOTIONS_MS: dict[object, int] = {"plain": 0, "beat": 500, "toll": 1600}
HABITS_MS: dict[object, int] = {"still": 0, "wink": 700, "nod": 2000}
WAYS_MS: dict[object, int] = {0: 0, 6: 600, 9: 1500}


class Wall:
    """One controller's pixels; ``stretches`` are first pixel and length by the segment's number."""

    def __init__(self, kind: str, pixels: int, stretches: dict[str, tuple[int, int]]) -> None:
        self._kind, self._stretches = kind, stretches
        #: Each pixel's full colour, 0..255, and the period of its motion, 0 where it stands still.
        self._pixels: list[tuple[Pixel, int]] = [((0.0, 0.0, 0.0), 0)] * pixels

    def at(self, now_ms: int) -> list[Pixel]:
        """What comes out so long after power-up."""
        found = []
        for (red, green, blue), period in self._pixels:
            weak = period and now_ms % period * 2 >= period
            share = 0.25 if weak else 1.0
            found.append((red * share, green * share, blue * share))
        return found

    def told(self, method: str, target: str, body: bytes | None) -> None:
        """One request; what asks for something changes nothing."""
        parts = urlsplit(target)
        said = json.loads(body) if body else {}
        if method == "GET":
            return
        if self._kind == "bars":
            self._bars(parts.path, said)
        elif self._kind == "beads":
            self._beads(parts.path, parse_qs(parts.query), said)
        else:
            self._shelves(parts.path, parse_qs(parts.query), said)

    def _put(self, first: int, colours: list[Pixel], period: int = 0) -> None:
        for place, colour in enumerate(colours, first):
            self._pixels[place] = (colour, period)

    def _bars(self, path: str, said: dict[str, str]) -> None:
        """``/bars/2`` shows one colour at a drive of 0..4095; ``/bars/2/cells`` single pixels."""
        first, length = self._stretches[path.split("/")[2]]
        if path.endswith("/cells"):
            digits = said["cells"]
            self._put(first, [_hex(digits[at : at + 6]) for at in range(0, len(digits), 6)])
        else:
            red, green, blue = _hex(said["paint"])
            drive = float(said["drive"]) / 4095
            colour = (red * drive, green * drive, blue * drive)
            self._put(first, [colour] * length, MOTIONS_MS[said["motion"]])

    def _beads(self, path: str, query: dict[str, list[str]], said: dict[str, list[int]]) -> None:
        """Beads from 1; green, red, blue packed in one number; a string of them from a bead on."""
        if path.endswith("/string"):
            first = int(str(said["from"])) - 1
            self._put(first, [_packed(tint) for tint in said["tints"]])
            return
        first, last = int(query["from"][0]) - 1, int(query["to"][0])
        colour = _packed(int(query["tint"][0])) if query["lit"] == ["yes"] else (0.0, 0.0, 0.0)
        self._put(first, [colour] * (last - first), HABITS_MS[query["habit"][0]])

    def _shelves(self, path: str, query: dict[str, list[str]], said: object) -> None:
        """Shelves by name: hue in tenths of a degree, the rest in thousandths; or strokes."""
        if path == "/strokes" and isinstance(said, list):
            first, _ = self._stretches[query["on"][0].removeprefix("shelf-")]
            for stroke in said:
                ink = [float(number) for number in re.findall(r"\d+", stroke["ink"])]
                count = stroke["to"] - stroke["from"] + 1
                self._put(stroke["from"], [(ink[0], ink[1], ink[2])] * count)
        elif isinstance(said, dict):
            for name, shelf in said.items():
                first, length = self._stretches[name.removeprefix("shelf-")]
                colour = _turned(shelf["turn"] / 600, shelf["depth"] / 1000, shelf["shine"] / 1000)
                self._put(first, [colour] * length, WAYS_MS[shelf["way"]])


def _hex(digits: str) -> Pixel:
    red, green, blue = bytes.fromhex(digits)
    return float(red), float(green), float(blue)


def _packed(tint: int) -> Pixel:
    return float(tint // 256 % 256), float(tint // 65536), float(tint % 256)


def _turned(sixths: float, depth: float, shine: float) -> Pixel:
    """Hue, saturation, value to red, green, blue by Smith's hexcone (SIGGRAPH 1978)."""

    def channel(offset: int) -> float:
        away = (sixths + offset) % 6
        return 255 * (shine - shine * depth * max(0.0, min(away, 4 - away, 1.0)))

    return channel(5), channel(3), channel(1)
