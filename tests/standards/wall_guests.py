"""What the yard and the pier must look like, from the requests alone.

As ``wall_interpreter`` for two more kinds of controller, and as little shared: the sails' channels
are shares of one and their white lights all three; the lamps are lit by a second word, wink, and
burn down.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

from tests.standards.wall_interpreter import Pixel

DARK: Pixel = (0.0, 0.0, 0.0)


class Yard:
    """Sails, each where it was cut."""

    def __init__(self, cloths: int) -> None:
        self._pixels = [DARK] * cloths
        self._sails: dict[str, tuple[int, int]] = {}

    def told(self, path: str, body: bytes, now_ms: int) -> None:
        """One request."""
        del now_ms
        said = json.loads(body)
        _, kind, *rest = path.split("/")
        if kind != "sails":
            return
        letter, what = rest[0], rest[1] if len(rest) > 1 else ""
        if what == "cut":
            self._sails[letter] = said["luff"], said["cloths"]
        first, length = self._sails[letter]
        dyes = said.get("patches") or [said.get("dye", [0, 0, 0, 0])] * length
        press = 255 * (1 if "patches" in said else said.get("press", 0))
        for at, (red, green, blue, white) in enumerate(dyes, first):
            self._pixels[at] = (
                (red + white) * press,
                (green + white) * press,
                (blue + white) * press,
            )

    def at(self, now_ms: int) -> list[Pixel]:
        """What is there when every change has eased out."""
        del now_ms
        return self._pixels


@dataclass
class _Lamp:
    first: int
    length: int
    full: Pixel = DARK
    wink_ms: int = 0
    out_ms: float = float("inf")


class Pier:
    """Lamps by name, of first pixel and length."""

    def __init__(self, lamps: dict[str, tuple[int, int]]) -> None:
        self._lamps = {name: _Lamp(*where) for name, where in lamps.items()}
        self._filled: list[dict[str, object]] = []

    def told(self, path: str, body: bytes, now_ms: int) -> None:
        """One request; the second word lights what the first filled."""
        if path == "/pier":
            self._filled = json.loads(body)["lamps"]
            return
        for said in self._filled:
            lamp = self._lamps[str(said["lamp"])]
            share = float(str(said["glim"]).removesuffix(" %")) / 100
            red, green, blue = _inked(str(said["ink"]))
            lamp.full = red * share, green * share, blue * share
            lamp.wink_ms = int(str(said.get("wink", 0)))
            burns = said["burns"]
            lamp.out_ms = float("inf") if burns is None else now_ms + 1000 * int(str(burns))

    def at(self, now_ms: int) -> list[Pixel]:
        """What comes out so long after power-up."""
        found: list[Pixel] = []
        for lamp in sorted(self._lamps.values(), key=lambda each: each.first):
            share = 0.0 if now_ms >= lamp.out_ms else 1.0
            if lamp.wink_ms and now_ms % lamp.wink_ms * 2 >= lamp.wink_ms:
                share /= 4
            red, green, blue = lamp.full
            found += [(red * share, green * share, blue * share)] * lamp.length
        return found


def _inked(ink: str) -> Pixel:
    """CSS Color 4, 7: hsl to red, green, blue, by its sample code."""
    hue, saturation, light = (
        float(part.strip(" %")) for part in ink.removeprefix("hsl(").removesuffix(")").split(",")
    )
    chroma = saturation / 100 * min(light / 100, 1 - light / 100)

    def channel(number: int) -> float:
        away = (number + hue / 30) % 12
        return 255 * (light / 100 - chroma * max(-1.0, min(away - 3, 9 - away, 1.0)))

    return channel(0), channel(8), channel(4)
