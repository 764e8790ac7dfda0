"""The matrices of a site's tables as one picture: each scene with its look before its name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bridge.check.matrix import Matrix
from bridge.cli.check_tables import letter
from bridge.engine.site import Site
from bridge.scenes.picture import LETTER, PIXEL, Lights, Picture, Words
from bridge.scenes.scene import HAND_BACK
from bridge.scenes.sight import Sight
from bridge.scenes.strip import Strip

_MARGIN: Final = 12
_ROW: Final = 18
_GAP: Final = 12
#: Enough for a pattern of every third pixel to be seen as one.
_PIXELS: Final = 4


def table_picture(
    title: str, site: Site, matrices: Sequence[Matrix], sight: Sight, *, moving: bool
) -> Picture:
    """The tables below each other; columns are lettered, and told below each table."""
    rounds = {
        name: strip.round() if moving else (strip.at(0),)
        for name, strip in _strips(site, matrices, sight).items()
    }
    lights: list[Lights] = []
    words = [Words(_MARGIN, _MARGIN + 10, title, bold=True)]
    y = _MARGIN + 10
    for matrix in matrices:
        y += 2 * _ROW
        words.append(Words(_MARGIN, y, f"table {matrix.table}", bold=True))
        lefts = _lefts(matrix)
        words += [Words(left, y, letter(number)) for number, left in enumerate(lefts)]
        for label, scenes in matrix.rows:
            y += _ROW
            words.append(Words(_MARGIN, y, label))
            for left, name in zip(lefts, scenes, strict=True):
                if name in rounds:
                    lights.append(Lights(left, y - 9, rounds[name]))
                words.append(Words(left + _PIXELS * PIXEL[0] + 4, y, name))
        for number, column in enumerate(matrix.columns):
            y += _ROW
            words.append(Words(_MARGIN, y, f"{letter(number)}: {column}"))
    wide = max(each.x + len(each.text) * LETTER for each in words)
    return Picture(title, wide + _MARGIN, y + _MARGIN, tuple(lights), tuple(words))


def _strips(site: Site, matrices: Sequence[Matrix], sight: Sight) -> dict[str, Strip]:
    """What is handed back has no look of its own."""
    shown = {name for matrix in matrices for _, scenes in matrix.rows for name in scenes}
    names = sorted(shown - {HAND_BACK})
    return {name: Strip(site.scenes[name], _PIXELS, sight=sight) for name in names}


def _lefts(matrix: Matrix) -> list[int]:
    """Where each column begins."""
    longest = max(len(matrix.table) + 6, *(len(label) for label, _ in matrix.rows))
    lefts, x = [], _MARGIN + longest * LETTER + _GAP
    for column in zip(*(scenes for _, scenes in matrix.rows), strict=True):
        lefts.append(x)
        x += _PIXELS * PIXEL[0] + 4 + max(map(len, column)) * LETTER + _GAP
    return lefts
