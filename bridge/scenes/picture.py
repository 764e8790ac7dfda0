"""A picture of strips and words, and how it is written as SVG.

Whoever makes a picture of frames, for a screen or for paper, lays it out with this. What moves
does so by CSS (W3C, CSS Animations Level 1), which a browser stops for whoever wants stillness.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias

from bridge.one_line import one_line
from bridge.scenes.scene import BLACK, PERIOD_MS, Colour
from bridge.scenes.strip import ROUND_MS, ROUND_STEPS

Paper: TypeAlias = Literal["dark", "white"]
#: Left, top, width and height.
Box: TypeAlias = tuple[int, int, int, int]

#: The paper's colour and its ink's.
INKS: Final[dict[Paper, tuple[Colour, Colour]]] = {
    "dark": ((24, 26, 31), (221, 221, 221)),
    "white": ((255, 255, 255), (0, 0, 0)),
}
#: What a dark pixel is drawn around with where it would not be seen on its paper.
RIM: Final[Colour] = (112, 112, 112)
#: The size of words where nothing else is said, and about what a letter of it takes.
SIZE: Final = 10
LETTER: Final = 6
#: How wide and high a pixel is, its gap included.
PIXEL: Final = (8, 10)

#: Said in every picture that may flash.
FLASH_LIMIT: Final = (
    f"Nothing here flashes more than {1000 / min(PERIOD_MS.values()):g} times a second; "
    "WCAG 2.3.1 allows three."
)

_ESCAPES: Final = str.maketrans(
    {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}
)
_STILLNESS: Final = (
    "@media print{.screen{display:none}}"
    "@media (prefers-reduced-motion:reduce){.screen{display:none}.moves{animation:none!important}}"
)


@dataclass(frozen=True, slots=True)
class Lights:
    """Pixels in a row from the upper left corner on, each so wide and so high.

    ``frames`` are a step of a round apart and come again. ``screen_only``: left out on paper, and
    for whoever does not want things to move.
    """

    x: int
    y: int
    frames: tuple[bytes, ...]
    width: int = PIXEL[0]
    height: int = PIXEL[1]
    screen_only: bool = False

    def boxes(self, step: int) -> Iterator[tuple[Box, Colour]]:
        """Where each pixel is drawn at a step, and its colour."""
        for number, colour in enumerate(_colours(self.frames[step % len(self.frames)])):
            yield self.box(number, is_dark=colour == BLACK), colour

    def box(self, pixel: int, *, is_dark: bool) -> Box:
        """A dark pixel is small, so that without colours too it is not one that is faintly lit."""
        left = self.x + pixel * self.width
        if not is_dark:
            return left, self.y, self.width - 1, self.height
        inset = self.width // 4
        side = self.width - 1 - 2 * inset
        return left + inset, self.y + (self.height - side) // 2, side, side


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text that begins at ``x`` and stands on ``y``."""

    x: int
    y: int
    text: str
    size: int = SIZE
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """Strips and words on a paper of this size."""

    title: str
    width: int
    height: int
    lights: tuple[Lights, ...]
    words: tuple[Words, ...]
    paper: Paper = "dark"


@dataclass(slots=True)
class Motions:
    """The animations of a page: pixels that change alike share one."""

    _names: dict[tuple[Colour, ...], str] = field(default_factory=dict)

    def name(self, colours: tuple[Colour, ...]) -> str:
        """Of a pixel that has these colours, a step of a round apart."""
        return self._names.setdefault(colours, f"motion-{len(self._names) + 1}")

    def css(self) -> str:
        """What a page's style needs for them."""
        return "".join(_keyframes(*each) for each in self._names.items()) + _STILLNESS


def svg(picture: Picture) -> str:
    """The picture as a file of its own."""
    motions = Motions()
    paper, ink = INKS[picture.paper]
    drawn = [
        f'<rect width="100%" height="100%" fill="{hex_of(paper)}"/>',
        *(lights_svg(each, motions) for each in picture.lights),
        *map(_words_svg, picture.words),
    ]
    width, height = picture.width, picture.height
    size = f'viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
    style = f"text{{font-family:sans-serif;fill:{hex_of(ink)}}}{motions.css()}"
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>',
        f"<title>{escaped(picture.title)}</title>",
        f"<desc>{FLASH_LIMIT}</desc>",
        f"<style>{style}</style>",
        *drawn,
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def lights_svg(lights: Lights, motions: Motions) -> str:
    """The pixels as SVG; what of them moves is put down in ``motions``."""
    courses = list(zip(*map(_colours, lights.frames), strict=True))
    pixels = [_pixel_svg(lights, number, course, motions) for number, course in enumerate(courses)]
    of_what = ' class="screen"' if lights.screen_only else ""
    return f"<g{of_what}>{''.join(pixels)}</g>"


def escaped(text: str) -> str:
    """Any text within SVG or HTML: markup is text there, and what cannot be printed is told."""
    return one_line(text).translate(_ESCAPES)


def hex_of(colour: Colour) -> str:
    """As in CSS."""
    return "#{:02x}{:02x}{:02x}".format(*colour)


def _colours(frame: bytes) -> Iterator[Colour]:
    return zip(frame[0::3], frame[1::3], frame[2::3], strict=True)


def _pixel_svg(lights: Lights, number: int, course: tuple[Colour, ...], motions: Motions) -> str:
    is_dark = set(course) == {BLACK}
    x, y, width, height = lights.box(number, is_dark=is_dark)
    more = f' stroke="{hex_of(RIM)}"' if BLACK in course else ""
    if len(set(course)) > 1:
        more += f' class="moves {motions.name(course)}"'
    fill = hex_of(course[0])
    return f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}"{more}/>'


def _keyframes(course: tuple[Colour, ...], name: str) -> str:
    """Each colour stays until the next: nothing fades that does not on the strip."""
    steps = len(course)
    changes = [0, *(step for step in range(1, steps) if course[step] != course[step - 1])]
    frames = "".join(f"{100 * step / steps:g}%{{fill:{hex_of(course[step])}}}" for step in changes)
    lasts_ms = steps * ROUND_MS / ROUND_STEPS
    return (
        f"@keyframes {name}{{{frames}}}.{name}{{animation:{name} {lasts_ms:g}ms step-end infinite}}"
    )


def _words_svg(words: Words) -> str:
    weight = ' font-weight="bold"' if words.bold else ""
    place = f'x="{words.x}" y="{words.y}" font-size="{words.size}"'
    return f"<text {place}{weight}>{escaped(words.text)}</text>"
