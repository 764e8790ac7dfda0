"""A frame as one line of a terminal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby, pairwise
from typing import Final, Literal, TypeAlias

from bridge.scenes.scene import BLACK, Colour

Colours: TypeAlias = Literal["truecolour", "256", "none"]
#: The colour's code, and the character to draw with.
_Painted: TypeAlias = tuple[str, str]

_LIT: Final = "█"
_FAINT: Final = "▒"
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
    painted = _true if colours == "truecolour" else _cube
    return "".join(_run(colour, len(list(group)), painted) for colour, group in groupby(shown))


def _run(colour: Colour, length: int, painted: Callable[[Colour], _Painted]) -> str:
    if colour == BLACK:
        return _DARK * length
    code, ink = painted(colour)
    return f"\x1b[38;{code}m{ink * length}{_RESET}"


def _sampled(pixels: Sequence[Colour], width: int | None) -> Sequence[Colour]:
    """At most ``width`` of the pixels, in order.

    Which one of those that share a character changes from character to character, by its square:
    an even step would show a pattern of every third pixel as all lit or all dark.
    """
    count = len(pixels)
    if width is None or count <= width:
        return pixels
    width = max(1, width)
    starts = [column * count // width for column in range(width + 1)]
    return [
        pixels[start + column * column % (end - start)]
        for column, (start, end) in enumerate(pairwise(starts))
    ]


def _ink(colour: Colour) -> str:
    """Of the strongest channel; its code is about as the eye steps. Lit is never the dark one."""
    return _RAMP[-(-max(colour) * (len(_RAMP) - 1) // 255)]


def _true(colour: Colour) -> _Painted:
    red, green, blue = colour
    return f"2;{red};{green};{blue}", _LIT


def _cube(colour: Colour) -> _Painted:
    red, green, blue = (_nearest_step(part) for part in colour)
    if (red, green, blue) != BLACK:
        return f"5;{_cube_number(red, green, blue)}", _LIT
    # What is lit is not drawn as nothing: its strongest channels get the least step, in half ink.
    red, green, blue = (int(part * 2 >= max(colour)) for part in colour)
    return f"5;{_cube_number(red, green, blue)}", _FAINT


def _cube_number(red: int, green: int, blue: int) -> int:
    return 16 + 36 * red + 6 * green + blue


def _nearest_step(part: int) -> int:
    return min(range(6), key=lambda step: abs(_STEPS[step] - part))
