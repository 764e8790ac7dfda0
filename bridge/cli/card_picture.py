"""The card as one picture, for whoever wants to put it into a drawing of their own."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Final

from bridge.check.meanings import SENTENCES, Meaning
from bridge.cli.card_looks import ABOUT_COLOURS, NO_SAFETY_DEVICE, TITLE, Look, answers, looks
from bridge.cli.card_page import PaperSize
from bridge.scenes.picture import PIXEL, Lights, Picture, Words

#: Width and height at 96 pixels an inch.
_PAPERS: Final[dict[PaperSize, tuple[int, int]]] = {"a4": (794, 1123), "letter": (816, 1056)}
_MARGIN: Final = 38
_RIGHT: Final = 376
_LINE: Final = 13
_GAP: Final = 12
#: So many letters fit beside and below each other.
_LEFT_LETTERS: Final = 56
_RIGHT_LETTERS: Final = 66

#: A column: what stands in it, and where it ends.
_Column = tuple[list[Lights], list[Words], int]


def card_picture(meanings: Sequence[Meaning], paper: PaperSize) -> Picture:
    """The card on one page; what is longer than the page makes it larger, to be printed smaller."""
    width, height = _PAPERS[paper]
    lights: list[Lights] = []
    words = [Words(_MARGIN, _MARGIN + 20, TITLE, size=22, bold=True)]
    y = _MARGIN + 34
    for meaning in meanings:
        left, right = _pictures(meaning, y), _reasons(meaning, y)
        for drawn, written, _ in (left, right):
            lights += drawn
            words += written
        y = max(left[2], right[2]) + _GAP
    words.append(Words(_MARGIN, y + 16, NO_SAFETY_DEVICE, size=14, bold=True))
    words.append(Words(_MARGIN, y + 32, ABOUT_COLOURS))
    longest = y + 32 + _MARGIN
    # Wider as it gets longer, so that it still has the paper's shape.
    wide = max(width, -(-longest * width // height))
    return Picture(TITLE, wide, max(height, longest), tuple(lights), tuple(words), "white")


def _pictures(meaning: Meaning, y: int) -> _Column:
    lights: list[Lights] = []
    words: list[Words] = []
    for look in looks(meaning):
        lights += _strips(look, y)
        y += PIXEL[1] + _LINE
        for line in _wrapped(
            f"{look.when}: {look.words}" if look.when else look.words, _LEFT_LETTERS
        ):
            words.append(Words(_MARGIN, y, line))
            y += _LINE
        y -= _LINE - 8
    return lights, words, y


def _strips(look: Look, y: int) -> Iterator[Lights]:
    """The phases side by side, and to the right of them the look as it moves."""
    x = _MARGIN
    for frame in look.phases:
        yield Lights(x, y, (frame,))
        x += len(frame) // 3 * PIXEL[0] + _GAP
    if look.moving:
        yield Lights(x, y, look.moving, screen_only=True)


def _reasons(meaning: Meaning, y: int) -> _Column:
    sentence, _ = SENTENCES[meaning.scene.says]
    y += PIXEL[1]
    words = [Words(_RIGHT, y, f"{sentence} ({meaning.scene.name})", size=13, bold=True)]
    for what, answer, cause in answers(meaning):
        for text, bold in ((f"{what}: {answer}", True), (cause, False)):
            for line in _wrapped(text, _RIGHT_LETTERS):
                y += _LINE
                words.append(Words(_RIGHT, y, line, bold=bold))
    return [], words, y


def _wrapped(text: str, letters: int) -> list[str]:
    return textwrap.wrap(text, letters)
