"""PNG and GIF, read back with Pillow."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest
from PIL import Image, ImageFont, ImageSequence

from bridge.cli.raster import NoPillowError, TooColourfulError, gif, png
from bridge.scenes.picture import INKS, Lights, Picture, Words
from bridge.scenes.scene import Scene
from bridge.scenes.strip import Strip, instant_ms

SLOW = Scene("see-me", "act", "flash", (255, 176, 0), brightness=0.8, rate="slow")
FAST = replace(SLOW, name="feed-me", colour=(42, 96, 255), rate="normal")
SILENT = Scene("not-known", "unknown", "steady", (216, 216, 208), pattern="every-third")
GAUGE = Scene("filling", "well", "gauge", (0, 176, 96), background=(0, 36, 26))


def picture(*rounds: tuple[bytes, ...], words: str = "see-me") -> Picture:
    """Strips below each other, and a word beside them."""
    lights = tuple(Lights(10, 20 + 20 * row, each) for row, each in enumerate(rounds))
    return Picture("x", 500, 300, lights, (Words(420, 30, words),))


def read(image: Image.Image, made: Picture) -> list[bytes]:
    """The pixels of each strip, from the middle of where each is drawn."""
    plain = image.convert("RGB")
    found = []
    for lights in made.lights:
        codes = b""
        for pixel in range(len(lights.frames[0]) // 3):
            x = lights.x + pixel * lights.width + lights.width // 2 - 1
            colour = plain.getpixel((x, lights.y + lights.height // 2))
            assert isinstance(colour, tuple)
            codes += bytes(map(int, colour))
        found.append(codes)
    return found


def opened(content: bytes) -> Image.Image:
    """The image in these bytes."""
    return Image.open(io.BytesIO(content))


def test_a_png_has_the_pixels_of_the_frames() -> None:
    """As each look begins."""
    strips = [Strip(scene, 37) for scene in (SLOW, FAST, SILENT, GAUGE)]
    made = picture(*(each.round() for each in strips))
    image = opened(png(made))
    assert (image.format, image.size) == ("PNG", (500, 300))
    assert read(image, made) == [each.at(0) for each in strips]


def shown(content: bytes, made: Picture) -> list[tuple[int, list[bytes]]]:
    """Each frame of a GIF: until when it stands, in ms, and its strips."""
    frames, until = [], 0
    for image in ImageSequence.Iterator(opened(content)):
        until += image.info["duration"]
        frames.append((until, read(image, made)))
    return frames


def at(frames: Sequence[tuple[int, list[bytes]]], milliseconds: int) -> list[bytes]:
    """What a GIF shows at an instant."""
    return next(strips for until, strips in frames if milliseconds < until)


def test_a_gif_shows_at_each_step_what_the_strips_show() -> None:
    """Two gauges of many pixels bring more colours together than one palette has."""
    strips = [
        Strip(SLOW, 40),
        Strip(FAST, 3),
        Strip(SILENT, 12),
        Strip(GAUGE, 41, "filling"),
        Strip(replace(GAUGE, colour=(255, 255, 255), brightness=0.7), 47, "filling"),
    ]
    made = picture(*(each.round() for each in strips))
    content = gif(made)
    frames = shown(content, made)
    assert opened(content).info["loop"] == 0
    assert frames[-1][0] == 10_000
    for step in range(160):
        expected = [each.at(instant_ms(step)) for each in strips]
        # It counts in hundredths of a second.
        assert at(frames, instant_ms(step) + 9) == expected
    assert len({colour for _, strips in frames for each in strips for colour in cut(each)}) > 256


def cut(pixels: bytes) -> list[bytes]:
    """One by one."""
    return [pixels[start : start + 3] for start in range(0, len(pixels), 3)]


@pytest.mark.parametrize(("scene", "halves"), [(SLOW, [630, 620]), (FAST, [320, 310])])
def test_a_flash_keeps_its_limits_in_hundredths(scene: Scene, halves: list[int]) -> None:
    """Slower rather than faster, and no shorter on than off (NUREG-0700)."""
    made = picture(Strip(scene, 3).round())
    frames = shown(gif(made), made)
    untils = [until for until, _ in frames]
    assert [b - a for a, b in zip([0, *untils], untils, strict=False)] == halves
    assert [strips for _, strips in frames] == [[each] for each in Strip(scene, 3).phases()]


def test_what_stands_still_is_one_frame() -> None:
    """Which begins nothing anew."""
    made = picture(Strip(SILENT, 5).round())
    image = opened(gif(made))
    assert getattr(image, "n_frames", 1) == 1
    assert read(image, made) == [Strip(SILENT, 5).at(0)]


def test_more_colours_than_a_gif_has_are_refused() -> None:
    """And none is shown as another; a PNG has them."""
    many = tuple(bytes([255 - number // 2, number, 9]) for number in range(256))
    made = picture(
        (b"".join(many[:51]),), *((b"".join(many[at : at + 41]),) for at in range(51, 256, 41))
    )
    with pytest.raises(TooColourfulError, match=r"at most 256 colours and this picture 259; name"):
        gif(made)
    assert b"".join(read(opened(png(made)), made)) == b"".join(many)


def inked(image: Image.Image) -> int:
    """How many pixels to the right of the strips are not paper."""
    plain = image.convert("RGB").crop((415, 0, 500, 300))
    return sum(
        number for number, colour in plain.getcolors(10_000) or [] if colour != INKS["dark"][0]
    )


@pytest.mark.parametrize("write", [png, gif])
def test_words_are_written(write: Callable[[Picture], bytes]) -> None:
    """In letters that are seen."""
    made = picture(Strip(SILENT, 5).round())
    assert inked(opened(write(made))) > 40
    assert inked(opened(write(replace(made, words=())))) == 0


@pytest.mark.parametrize("words", ["schälen", "łódź", "ταχύ", "灯", "a\x1b[31m\nb"])
def test_any_words_are_written(words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """As well as the font can, the one with few letters too; none ends in a trace."""
    made = picture(Strip(SILENT, 5).round(), words=words)
    assert inked(opened(png(made))) > 0
    monkeypatch.setattr("PIL.ImageFont.load_default", ImageFont.load_default_imagefont)
    assert inked(opened(png(made))) > 0
    assert inked(opened(gif(made))) > 0


@pytest.mark.parametrize(("write", "ending"), [(png, ".png"), (gif, ".gif")])
def test_without_pillow_it_is_said_how_to_get_it(
    write: Callable[[Picture], bytes], ending: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In one line."""
    monkeypatch.setitem(sys.modules, "PIL", None)
    with pytest.raises(NoPillowError) as caught:
        write(picture())
    assert str(caught.value) == (
        f"a {ending} file needs Pillow, which is not installed: python -m pip install "
        "'pillow>=10', or write a .svg, which needs nothing"
    )
