"""Dialect ``lamps``: all of them in one list, nothing shows until it is lit, and it burns down.

It wants to be told everything each time, lets nobody in without a token, and answers how long it
has been burning in a duration of ISO 8601.
"""

from __future__ import annotations

import colorsys
import re
from collections.abc import Mapping
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
from bridge.simulator.pixels import rounded

_INK = re.compile(r"hsl\(([0-9.]+), ([0-9.]+)%, ([0-9.]+)%\)")
_GLIM = re.compile(r"(\d{1,3}) %")
_LONGEST_S: Final = 3600
_WINKS_MS: Final = (300, 3000)


@dataclass(frozen=True, slots=True)
class Lamp:
    """``burns`` so many seconds from when it is lit, for ever where that is ``None``."""

    ink: str = "hsl(30, 80%, 4%)"
    glim: str = "100 %"
    burns: int | None = None
    wink: int | None = None


_BURNT: Final = Lamp(glim="0 %")


class Lamps(SimulatedController):
    """``lamps`` is each lamp's first pixel and length, by its name."""

    def __init__(
        self,
        name: str,
        pixels: int,
        lamps: Mapping[str, tuple[int, int]],
        *,
        token: str = "",
        now_ms: int = 0,
    ) -> None:
        super().__init__(name, pixels, now_ms=now_ms)
        self._ranges, self._token = dict(lamps), token
        self._lamps: dict[str, Lamp] = {}
        self._filled: dict[str, Lamp] = {}
        #: When each of those that burn down is out, in ms.
        self._out_ms: dict[str, int] = {}
        self._forget()

    def _forget(self) -> None:
        self._lamps, self._filled, self._out_ms = dict.fromkeys(self._ranges, Lamp()), {}, {}

    def _refusal(self, why: str) -> object:
        return {"no": why}

    def _admit(self, headers: Mapping[str, str]) -> None:
        if self._token and headers.get("Authorization") != f"Bearer {self._token}":
            raise RefusedError(401, "who goes there")

    def pixels(self, now_ms: int) -> bytes:
        """What has burnt down by then is dark."""
        self._burn(now_ms)
        return super().pixels(now_ms)

    def trim(self, name: str, lamp: Lamp, now_ms: int) -> None:
        """Somebody sets a lamp by hand."""
        self._now_ms = now_ms
        self._light(name, lamp)

    def _darken(self) -> None:
        for name in self._lamps:
            self._light(name, _BURNT)

    def _answer(
        self, method: str, path: str, query: Mapping[str, str], body: bytes, now_ms: int
    ) -> Reply:
        del query
        self._burn(now_ms)
        match method, path:
            case "GET", "/pier/plate":
                return 200, {"plate": self.tag, "of": self.board.pixels}
            case "GET", "/pier":
                lamps = [_item(name, lamp) for name, lamp in self._lamps.items()]
                return 200, {"burning": _duration(self.board.awake_ms(now_ms)), "lamps": lamps}
            case "POST", "/pier":
                return self._fill(member(json_of(body), "lamps"))
            case "POST", "/pier/light":
                return self._light_all()
            case _:
                raise RefusedError(404, f"nothing at {method} {path}")

    def _fill(self, wish: object) -> Reply:
        items = wish if isinstance(wish, list) else []
        filled = {str(member(item, "lamp")): _lamp(item) for item in items}
        if filled.keys() != self._ranges.keys():
            missing = ", ".join(sorted(self._ranges.keys() ^ filled.keys()))
            raise RefusedError(422, f"every lamp is wanted, and no other: {missing}")
        if self._keeps():
            self._filled = filled
        return 200, {"aye": True}

    def _light_all(self) -> Reply:
        for name, lamp in self._filled.items():
            # One that is the same burns on as it did, however often it is told.
            if lamp != self._lamps[name] or lamp.burns is not None:
                self._light(name, lamp)
        return 200, {"aye": True}

    def _light(self, name: str, lamp: Lamp) -> None:
        kept = (
            replace(lamp, ink=_ink(self._kept(_cell(lamp.ink)))) if self.faults.coarse > 1 else lamp
        )
        self._lamps[name] = kept
        self._out_ms.pop(name, None)
        if lamp.burns is not None:
            self._out_ms[name] = self._now_ms + 1000 * lamp.burns
        first, length = self._ranges[name]
        glim = int(kept.glim.removesuffix(" %")) / 100
        cell = bytes(rounded(part * glim) for part in _cell(kept.ink))
        self._lay(first, cell * length, lamp.wink or 0)

    def _burn(self, now_ms: int) -> None:
        for name in [name for name, out_ms in self._out_ms.items() if out_ms <= now_ms]:
            self._now_ms = self._out_ms[name]
            self._light(name, _BURNT)


def _lamp(item: object) -> Lamp:
    ink, glim = member(item, "ink"), member(item, "glim")
    if not isinstance(ink, str) or not _INK.fullmatch(ink):
        raise RefusedError(422, "ink wants hsl(hue, saturation%, lightness%)")
    if not isinstance(glim, str) or not _GLIM.fullmatch(glim):
        raise RefusedError(422, 'glim wants per cent, as "63 %"')
    burns = member(item, "burns")
    burns = None if burns is None else whole(burns, 1, _LONGEST_S, "burns")
    wink = item.get("wink") if isinstance(item, dict) else None
    wink = None if wink is None else whole(wink, *_WINKS_MS, "wink")
    return Lamp(ink, glim, burns, wink)


def _item(name: str, lamp: Lamp) -> dict[str, object]:
    item: dict[str, object] = {"lamp": name, "ink": lamp.ink, "glim": lamp.glim}
    item["burns"] = lamp.burns
    return item if lamp.wink is None else {**item, "wink": lamp.wink}


def _cell(ink: str) -> bytes:
    found = _INK.fullmatch(ink)
    hue, saturation, light = (float(part) for part in found.groups()) if found else (0, 0, 0)
    parts = colorsys.hls_to_rgb(hue / 360, light / 100, saturation / 100)
    return bytes(rounded(part * 255) for part in parts)


def _ink(cell: bytes) -> str:
    hue, light, saturation = colorsys.rgb_to_hls(*(part / 255 for part in cell))
    return f"hsl({hue * 360:.2f}, {saturation * 100:.2f}%, {light * 100:.2f}%)"


def _duration(milliseconds: int) -> str:
    minutes, seconds = divmod(milliseconds // 1000, 60)
    return f"PT{minutes}M{seconds}S"
