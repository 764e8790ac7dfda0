"""A frame as a terminal's line: every pixel, or a fair sample, in what the terminal can show."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.scenes.frames import frame
from bridge.scenes.scene import Scene
from bridge.scenes.terminal import Colours, draw

RED, DIM, DARK = bytes([255, 0, 0]), bytes([0, 22, 16]), bytes(3)
THIRD = Scene("x", "unknown", "steady", (200, 200, 200), pattern="every-third")
GAUGE = Scene("x", "well", "gauge", (0, 176, 96), brightness=0.6, background=(0, 36, 26))

LINES: list[tuple[bytes, Colours, str]] = [
    (RED * 2 + DARK, "truecolour", "\x1b[38;2;255;0;0m██\x1b[0m·"),
    (RED + DIM, "truecolour", "\x1b[38;2;255;0;0m█\x1b[0m\x1b[38;2;0;22;16m█\x1b[0m"),
    (RED * 2 + DARK, "256", "\x1b[38;5;196m██\x1b[0m·"),
    # What is lit and rounds to black is drawn in half ink, not as nothing.
    (DIM, "256", "\x1b[38;5;23m▒\x1b[0m"),
    (bytes([95, 135, 215]), "256", "\x1b[38;5;68m█\x1b[0m"),
    (RED + DIM + DARK, "none", "@:."),
    (b"", "none", ""),
    (b"", "truecolour", ""),
]


@pytest.mark.parametrize(("pixels", "colours", "line"), LINES)
def test_a_frame_is_one_line(pixels: bytes, colours: Colours, line: str) -> None:
    """One character a pixel, one change of colour a run, a point where it is dark."""
    assert draw(pixels, colours=colours) == line


INK = [(0, "."), (1, ":"), (31, ":"), (32, "-"), (127, "+"), (128, "*"), (254, "@"), (255, "@")]


@pytest.mark.parametrize(("code", "ink"), INK)
def test_without_colours_ink_grows_with_light(code: int, ink: str) -> None:
    """The strongest channel decides; only what is dark is a point."""
    assert draw(bytes([0, code, 0]), colours="none") == ink


@pytest.mark.parametrize("colours", ["truecolour", "256", "none"])
def test_a_gauge_differs_from_its_trough(colours: Colours) -> None:
    """Wherever it is drawn, one sees how far it is."""
    line = draw(frame(GAUGE, 10, 0, {"progress": 0.5}), colours=colours)
    plain = re.split("\x1b\\[0m", line) if colours != "none" else [line[:5], line[5:]]
    assert plain[0] != plain[1]
    assert len(set(line[:5])) < 5 or colours != "none"


@pytest.mark.parametrize("width", range(5, 121))
def test_a_pattern_survives_a_narrow_terminal(width: int) -> None:
    """Every third pixel is drawn as neither all lit nor all dark."""
    line = draw(frame(THIRD, 120, 0, {}), colours="none", width=width)
    assert len(line) == width
    assert set(line) == {".", "%"}


@given(st.integers(1, 300), st.integers(-2, 300))
def test_it_is_never_wider_than_asked(pixels: int, width: int) -> None:
    """At least one character, at most the width, at most one a pixel."""
    line = draw(bytes(3 * pixels), colours="none", width=width)
    assert len(line) == min(pixels, max(1, width))


def test_a_gauge_keeps_its_order_when_it_is_narrowed() -> None:
    """The sample is in order, so a bar stays one bar."""
    line = draw(frame(GAUGE, 300, 0, {"progress": 0.5}), colours="none", width=40)
    assert re.fullmatch(r"\+{19,21}[-+:]?:{19,20}", line)
