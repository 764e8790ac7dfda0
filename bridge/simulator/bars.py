"""Dialect ``bars``: numbered bars, a colour in hex beside a drive of twelve bits."""

from __future__ import annotations

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
)
from bridge.simulator.pixels import rounded

FULL_DRIVE: Final = 4095
BEATS_MS: Final = {"plain": 0, "beat": 500, "toll": 1600}
CELLS: Final = "cells"
_PAINT = re.compile(r"[0-9a-f]{6}")


@dataclass(frozen=True, slots=True)
class Bar:
    """How one bar was set: painted cells, or paint, drive and motion."""

    paint: str = ""
    drive: int = 0
    motion: str = CELLS
    cells: str | None = None


class Bars(SimulatedController):
    """``bars`` is each bar's first pixel and length, by its number."""

    def __init__(
        self, name: str, pixels: int, bars: Mapping[int, tuple[int, int]], *, now_ms: int = 0
    ) -> None:
        super().__init__(name, pixels, now_ms=now_ms)
        self._ranges = dict(bars)
        self._bars: dict[int, Bar] = {}
        self._forget()

    def _forget(self) -> None:
        self._bars = {number: Bar("120a02", FULL_DRIVE, "plain") for number in self._ranges}

    def _refusal(self, why: str) -> object:
        return {"done": False, "why": why}

    def _answer(
        self, method: str, path: str, query: Mapping[str, str], body: bytes, now_ms: int
    ) -> Reply:
        del query
        match method, path.strip("/").split("/"):
            case "GET", ["who"]:
                return 200, {"name": self.tag, "count": self.board.pixels}
            case "GET", ["bars"]:
                return 200, self._list(now_ms)
            case "PUT", ["bars", number]:
                return self._paint(self._number(number), json_of(body))
            case "PUT", ["bars", number, "cells"]:
                return self._fill(self._number(number), json_of(body))
            case _:
                raise RefusedError(404, f"nothing at {method} {path}")

    def _list(self, now_ms: int) -> object:
        items = [_item(number, bar) for number, bar in self._bars.items()]
        return {"awake": self.board.awake_ms(now_ms) // 1000, "list": items}

    def _number(self, text: str) -> int:
        if not text.isdigit() or int(text) not in self._ranges:
            raise RefusedError(404, f"no bar {text}")
        return int(text)

    def _paint(self, number: int, wish: object) -> Reply:
        paint = member(wish, "paint")
        if not isinstance(paint, str) or not _PAINT.fullmatch(paint):
            raise RefusedError(422, "paint wants six small hex digits")
        drive = whole(member(wish, "drive"), 0, FULL_DRIVE, "drive")
        motion = member(wish, "motion")
        if not isinstance(motion, str) or motion not in BEATS_MS:
            raise RefusedError(422, f"motion wants one of {', '.join(BEATS_MS)}")
        if self._keeps():
            self._set(number, Bar(self._kept(bytes.fromhex(paint)).hex(), drive, motion))
        return 200, {"done": True}

    def _set(self, number: int, bar: Bar) -> None:
        self._bars[number] = bar
        first, length = self._ranges[number]
        cell = bytes(rounded(c * bar.drive / FULL_DRIVE) for c in bytes.fromhex(bar.paint))
        self._lay(first, cell * length, BEATS_MS[bar.motion])

    def _darken(self) -> None:
        for number in self._bars:
            self._set(number, Bar("000000", 0, "plain"))

    def _fill(self, number: int, wish: object) -> Reply:
        cells = member(wish, "cells")
        first, length = self._ranges[number]
        if not isinstance(cells, str) or not re.fullmatch(r"[0-9a-f]*", cells):
            raise RefusedError(422, "cells wants small hex digits")
        if len(cells) != length * 6:
            raise RefusedError(422, f"bar {number} has {length} cells, not {len(cells) / 6:g}")
        if self._keeps():
            kept = self._kept(bytes.fromhex(cells))
            self._bars[number] = Bar(cells=kept.hex())
            self._lay(first, kept)
        return 200, {"done": True}


def _item(number: int, bar: Bar) -> dict[str, object]:
    if bar.cells is not None:
        return {"bar": number, "motion": bar.motion, "cells": bar.cells}
    return {"bar": number, "paint": bar.paint, "drive": bar.drive, "motion": bar.motion}
