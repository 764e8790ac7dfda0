"""A contact sheet: looks below each other, each with its name and what it is in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bridge.scenes.picture import LETTER, PIXEL, Lights, Picture, Words
from bridge.scenes.strip import Strip

_MARGIN = 12
_ROW = 18
_GAP = 12


@dataclass(frozen=True, slots=True)
class Line:
    """One look of the sheet."""

    name: str
    strip: Strip
    words: str


def contact_sheet(title: str, lines: Sequence[Line], *, moving: bool) -> Picture:
    """The picture of the lines; where they stand still, as they begin."""
    lights, words = [], [Words(_MARGIN, _MARGIN + 10, title, bold=True)]
    left = _MARGIN + max(len(line.name) for line in lines) * LETTER + _GAP
    right = left + max(line.strip.pixels for line in lines) * PIXEL[0] + _GAP
    for number, line in enumerate(lines):
        top = _MARGIN + 24 + number * _ROW
        frames = line.strip.round() if moving else (line.strip.at(0),)
        lights.append(Lights(left, top, frames))
        inside = len(line.name) - len(line.name.lstrip())
        words.append(Words(_MARGIN + inside * LETTER, top + 9, line.name.lstrip()))
        words.append(Words(right, top + 9, line.words))
    wide = max(right + max(len(line.words) for line in lines) * LETTER, len(title) * LETTER)
    high = 2 * _MARGIN + 24 + len(lines) * _ROW
    return Picture(title, wide + _MARGIN, high, tuple(lights), tuple(words))
