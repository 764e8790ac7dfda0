"""Pictures as PNG and GIF, by Pillow where it is installed; an SVG needs nothing."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING, Final

from bridge.errors import LampwrightError
from bridge.one_line import one_line
from bridge.scenes.picture import INKS, RIM, SIZE, Picture, Words
from bridge.scenes.scene import BLACK, Colour
from bridge.scenes.strip import instant_ms

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

#: What a palette holds (GIF89a, section 19).
_MOST_COLOURS: Final = 256
#: GIF counts in these (section 23), in ms.
_TICK_MS: Final = 10


class NoPillowError(LampwrightError):
    """Pillow is an extra of its own."""

    def __init__(self, ending: str) -> None:
        super().__init__(
            f"a {ending} file needs Pillow, which is not installed: "
            "python -m pip install 'pillow>=10', or write a .svg, which needs nothing"
        )


class TooColourfulError(LampwrightError):
    """More colours at once than a GIF can have."""

    def __init__(self, colours: int) -> None:
        super().__init__(
            f"a .gif has at most {_MOST_COLOURS} colours and this picture {colours}; "
            "name fewer scenes, or write a .svg or a .png"
        )


def png(picture: Picture) -> bytes:
    """The picture as it begins."""
    _check_pillow(".png")
    from PIL import Image

    image = Image.new("RGB", (picture.width, picture.height), INKS[picture.paper][0])
    _paint(image, picture, 0, {})
    return _saved(image, "PNG")


def gif(picture: Picture) -> bytes:
    """The picture as it moves, for ever: each frame until something changes."""
    _check_pillow(".gif")
    images, starts = [], []
    steps = math.lcm(1, *(len(each.frames) for each in picture.lights))
    last = None
    for step in range(steps):
        shown = [each.frames[step % len(each.frames)] for each in picture.lights]
        if shown != last:
            images.append(_indexed(picture, step))
            starts.append(_tick(step))
            last = shown
    ends = [*starts[1:], _tick(steps)]
    lasting = [(end - start) * _TICK_MS for start, end in zip(starts, ends, strict=True)]
    if len(images) == 1:
        return _saved(images[0], "GIF")
    return _saved(
        images[0], "GIF", save_all=True, append_images=images[1:], duration=lasting, loop=0
    )


def _check_pillow(ending: str) -> None:
    from importlib.util import find_spec

    if find_spec("PIL") is None:
        raise NoPillowError(ending)


def _tick(step: int) -> int:
    """Never before the step, so that no bright half of a flash is shorter than the dim one."""
    return -(-instant_ms(step) // _TICK_MS)


def _indexed(picture: Picture, step: int) -> Image:
    """A frame with a palette of its own, which has each colour as it is."""
    from PIL import Image

    pixels = (colour for each in picture.lights for _, colour in each.boxes(step))
    colours = list(dict.fromkeys([*INKS[picture.paper], RIM, *pixels]))
    if len(colours) > _MOST_COLOURS:
        raise TooColourfulError(len(colours))
    image = Image.new("P", (picture.width, picture.height), 0)
    image.putpalette([code for colour in colours for code in colour])
    _paint(image, picture, step, {colour: number for number, colour in enumerate(colours)})
    return image


def _paint(image: Image, picture: Picture, step: int, palette: dict[Colour, int]) -> None:
    """Strips and words; a colour that the palette has not is meant as it is."""
    from PIL.ImageDraw import Draw

    pen = Draw(image)
    # Smooth letters would need greys of their own in a palette.
    pen.fontmode = "1" if palette else "L"
    ink = INKS[picture.paper][1]
    for each in picture.lights:
        for (x, y, width, height), colour in each.boxes(step):
            corners = (x, y, x + width - 1, y + height - 1)
            pen.rectangle(corners, fill=palette.get(colour, colour))
            if colour == BLACK:
                around = (x - 1, y - 1, x + width, y + height)
                pen.rectangle(around, outline=palette.get(RIM, RIM))
    for words in picture.words:
        _write(pen, words, palette.get(ink, ink))


def _write(pen: ImageDraw, words: Words, ink: int | Colour) -> None:
    """In Pillow's own font, which is the same everywhere; what it has no letter for is ``?``."""
    from PIL import ImageFont

    font = ImageFont.load_default()
    text = one_line(words.text)
    if not isinstance(font, ImageFont.FreeTypeFont):
        text = text.encode("latin-1", errors="replace").decode("latin-1")
    pen.text((words.x, words.y - SIZE), text, fill=ink, font=font)


def _saved(image: Image, form: str, **more: object) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, form, **more)
    return buffer.getvalue()
