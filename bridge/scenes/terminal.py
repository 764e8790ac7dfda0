"""A frame as one line of a terminal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby, pairwise
from typing import Final, Literal, TypeAlias

from bridge.scenes.scene import BLACK, Colour

Colours: TypeAlias = Literal["truecolour", "256", "none"]

_LIT: Final = "█"
_DARK: Final = "·"
_RESET: Final = "\x1b[0m"
#: The codes of the six steps of the 6 × 6 × 6 cube that terminals call colours 16 to 231.
_STEPS: Final = (0, 95, 135, 175, 215, 255)
#: Characters of growing ink for growing light; the first is dark.
_RAMP: Final = ".:-=+*#%@"


def draw(frame: bytes, *, colours: Colours, width: int | None = None) -> str:
    """One character a pixel, at most ``width`` of them; without colours its ink tells the light."""
    shown = _sampled(list(zip(frame[0::3], frame[1::3], frame[2::3], strict=True)), width)
    if colours == "none":
        return "".join(map(_ink, shown))
    code = _true_code if colours == "truecolour" else _cube_code
    return "".join(_run(colour, len(list(group)), code) for colour, group in groupby(shown))


def _run(colour: Colour, length: int, code: Callable[[Colour], str]) -> str:
    if colour == BLACK:
        return _DARK * length
    return f"\x1b[38;{code(colour)}m{_LIT * length}{_RESET}"


def _sampled(pixels: Sequence[Colour], width: int | None) -> Sequence[Colour]:
    """At most ``width`` of the pixels, in order.

    Which one of those that share a character changes from character to character: always the same
    one would show a pattern of every third pixel as all lit or all dark.
    """
    count = len(pixels)
    if width is None or count <= width:
        return pixels
    width = max(1, width)
    starts = [column * count // width for column in range(width + 1)]
    return [
        pixels[start + column % (end - start)]
        for column, (start, end) in enumerate(pairwise(starts))
    ]


def _ink(colour: Colour) -> str:
    """Of the strongest channel; its code is about as the eye steps. Lit is never the dark one."""
    return _RAMP[-(-max(colour) * (len(_RAMP) - 1) // 255)]


def _true_code(colour: Colour) -> str:
    red, green, blue = colour
    return f"2;{red};{green};{blue}"


def _cube_code(colour: Colour) -> str:
    red, green, blue = (_nearest_step(part) for part in colour)
    if (red, green, blue) == BLACK:
        # What is lit is not drawn as nothing: the strongest channels get the least step.
        red, green, blue = (int(part * 2 >= max(colour)) for part in colour)
    return f"5;{16 + 36 * red + 6 * green + blue}"


def _nearest_step(part: int) -> int:
    return min(range(6), key=lambda step: abs(_STEPS[step] - part))
