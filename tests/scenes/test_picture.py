"""Pictures as SVG, read with the standard library's parser."""

from __future__ import annotations

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

import pytest

from bridge.scenes.picture import (
    INKS,
    RIM,
    Lights,
    Motions,
    Picture,
    Words,
    escaped,
    hex_of,
    lights_svg,
    svg,
)
from bridge.scenes.scene import PERIOD_BAND_MS, PERIOD_MS, Colour, Rate, Scene
from bridge.scenes.strip import ROUND_STEPS, Strip
from tests.scenes.seeing import luminance

SVG = "{http://www.w3.org/2000/svg}"
FLASH = Scene("see-me", "act", "flash", (255, 176, 0), brightness=0.8, rate="slow")
SILENT = Scene("not-known", "unknown", "steady", (216, 216, 208), pattern="every-third")
GAUGE = Scene("filling", "well", "gauge", (0, 176, 96), background=(0, 36, 26))


def picture(*frames: tuple[bytes, ...], words: str = "x") -> ET.Element:
    """A picture of these strips and words, as it is read back."""
    lights = tuple(Lights(0, 20 * number, each) for number, each in enumerate(frames))
    return ET.fromstring(svg(Picture(words, 400, 200, lights, (Words(1, 9, words),))))  # noqa: S314 - our own


def fills(root: ET.Element) -> list[list[str]]:
    """The colours of each strip's pixels."""
    return [[each.attrib["fill"] for each in group] for group in root.iter(f"{SVG}g")]


def codes(frame: bytes) -> list[str]:
    """The colours of a frame, as CSS writes them."""
    return [f"#{frame[at : at + 3].hex()}" for at in range(0, len(frame), 3)]


@pytest.mark.parametrize("scene", [FLASH, SILENT, GAUGE], ids=lambda scene: scene.effect)
def test_pixels_have_the_colours_of_the_frame(scene: Scene) -> None:
    """In their order from left to right, each beside the other."""
    strip = Strip(scene, 13)
    root = picture((strip.at(0),), strip.round())
    assert fills(root) == [codes(strip.at(0))] * 2
    for group in root.iter(f"{SVG}g"):
        lefts = [float(each.attrib["x"]) // 8 for each in group]
        assert lefts == list(range(13))


def styles(root: ET.Element) -> str:
    """The style of a picture."""
    return "".join(each.text or "" for each in root.iter(f"{SVG}style"))


def courses(style: str) -> Iterator[tuple[str, list[tuple[float, str]], float]]:
    """Every animation's name, its colours with where in it they begin, and how long it lasts."""
    found = r"@keyframes ([\w-]+)\{(.*?\})\}\.\1\{animation:\1 ([\d.]+)ms step-end infinite\}"
    for name, frames, lasts in re.findall(found, style):
        keys = re.findall(r"([\d.]+)%\{fill:(#[0-9a-f]{6})\}", frames)
        yield name, [(float(at), colour) for at, colour in keys], float(lasts)


@pytest.mark.parametrize("rate", ["slow", "normal"])
def test_a_flash_blinks_within_its_limits(rate: Rate) -> None:
    """Two looks, half of a period each, and the period counts as that rate (IEC 60073)."""
    strip = Strip(Scene("x", "act", "flash", (0, 0, 255), rate=rate), 4)
    root = picture(strip.round())
    [(name, keys, lasts_ms)] = courses(styles(root))
    least_ms, most_ms = PERIOD_BAND_MS[rate]
    assert lasts_ms == PERIOD_MS[rate]
    assert least_ms <= lasts_ms <= most_ms
    assert keys == [(0.0, codes(strip.at(0))[0]), (50.0, codes(strip.at(PERIOD_MS[rate] - 1))[0])]
    assert all(each.attrib["class"] == f"moves {name}" for each in next(root.iter(f"{SVG}g")))


def test_the_limit_is_said() -> None:
    """For whoever is handed the file."""
    [said] = [each.text or "" for each in picture((b"",)).iter(f"{SVG}desc")]
    assert "1.6 times a second" in said
    assert "WCAG 2.3.1 allows three" in said


def test_a_gauge_fills_as_its_frames_do() -> None:
    """Each pixel changes when it changes in the round, and no other moves."""
    strip = Strip(GAUGE, 5, "filling")
    frames = strip.round()
    root = picture(frames)
    by_name = {name: (keys, lasts) for name, keys, lasts in courses(styles(root))}
    for number, pixel in enumerate(next(root.iter(f"{SVG}g"))):
        keys, lasts_ms = by_name[pixel.attrib["class"].removeprefix("moves ")]
        assert lasts_ms == 10_000
        for step, frame in enumerate(frames):
            shown = [colour for at, colour in keys if at <= 100 * step / ROUND_STEPS + 1e-6][-1]
            assert shown == codes(frame)[number]


def test_who_wants_stillness_gets_it() -> None:
    """And what is for screens only is not printed."""
    root = picture(Strip(FLASH, 2).round())
    assert "(prefers-reduced-motion:reduce)" in styles(root)
    lights = Lights(0, 0, Strip(FLASH, 2).round(), screen_only=True)
    assert lights_svg(lights, Motions()).startswith('<g class="screen">')
    assert "@media print{.screen{display:none}}" in styles(root)


def test_pixels_that_change_alike_share_an_animation() -> None:
    """A page of twenty strips is not twenty times as long."""
    motions = Motions()
    for _ in range(20):
        lights_svg(Lights(0, 0, Strip(FLASH, 40).round()), motions)
    assert motions.css().count("@keyframes") == 1


def test_a_dark_pixel_is_small_and_has_a_rim() -> None:
    """So that in grey too it is told from one that is faintly lit."""
    lit, dark, *_ = next(picture((Strip(SILENT, 3).at(0),)).iter(f"{SVG}g"))
    assert float(dark.attrib["width"]) < float(lit.attrib["width"]) / 2
    assert dark.attrib["stroke"] == hex_of(RIM)
    assert "stroke" not in lit.attrib


@pytest.mark.parametrize(("ground", "ink"), INKS.values(), ids=INKS.keys())
def test_the_rim_and_the_ink_are_seen_on_either_paper(ground: Colour, ink: Colour) -> None:
    """Ink by the contrast that WCAG 2.2 asks of text (1.4.3), a rim by that of a shape (1.4.11)."""
    dark, light = sorted((luminance(ground), luminance(ink)))
    assert (light + 0.05) / (dark + 0.05) >= 4.5
    dark, light = sorted((luminance(ground), luminance(RIM)))
    assert (light + 0.05) / (dark + 0.05) >= 3


HOSTILE = [
    "</text><script>alert(1)</script>",
    "a & b < c > d \"quoted\" 'so'",
    "bell \x07 nul \x00 escape \x1b[31m",
    "turned \u202e round",
    "]]> <!-- --> &#0; &copy;",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_any_text_is_text(text: str) -> None:
    """It makes no markup, and what XML cannot hold or nobody sees is written out."""
    root = picture((b"",), words=text)
    [said] = [each.text or "" for each in root.iter(f"{SVG}text")]
    [title] = [each.text for each in root.iter(f"{SVG}title")]
    assert title == said
    assert said.isprintable()
    assert said == text or "\\" in said
    assert list(root.iter(f"{SVG}script")) == []
    assert not set("<>\"'") & set(escaped(text))
