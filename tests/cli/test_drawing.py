"""How a dry run is drawn on what kind of stream."""

from __future__ import annotations

import argparse
import io
import json
from collections.abc import Mapping
from dataclasses import replace
from typing import TextIO

import pytest

from bridge.cli.drawing import (
    InPlace,
    JsonLines,
    PlainLines,
    colours_for,
    drawing_for,
    printer_words,
    segment_frame,
)
from bridge.engine.actions import Note
from bridge.engine.core import Core
from bridge.engine.events import Heard, Settings, SourceUp, Started
from bridge.engine.site import Site
from bridge.engine.view import View
from bridge.facts.moment import Moment
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG, Terminal, hold_to_shape

SITE = load_site(CONFIG)
WORKING = b'{"duty": {"code": 12, "halted": false}, "work": {"share": 5000}, "trips": 0}'
STUCK = b'{"duty": {"code": 12, "halted": true}, "work": {"share": 5000}, "trips": 8}'


def picture(*pages: bytes, every_ms: int = 1, site: Site = SITE) -> View:
    """The view of a site after plover said this, one page after the other."""
    core = Core()
    core.handle(Started("seed"), Moment(0))
    core.handle(Settings(site, ""), Moment(0))
    core.handle(SourceUp("shed"), Moment(0))
    for number, page in enumerate(pages, 1):
        heard = Heard("http", "http://plover.club.example/ledger", page)
        core.handle(heard, Moment(number * every_ms))
    return core.view()


PALETTES = {
    "a pipe": (io.StringIO(), {"COLORTERM": "truecolor"}, "none"),
    "NO_COLOR": (Terminal(), {"NO_COLOR": "1", "COLORTERM": "truecolor"}, "none"),
    "an empty NO_COLOR": (Terminal(), {"NO_COLOR": "", "COLORTERM": "24bit"}, "truecolour"),
    "a dumb terminal": (Terminal(), {"TERM": "dumb"}, "none"),
    "true colour": (Terminal(), {"COLORTERM": "truecolor", "TERM": "xterm"}, "truecolour"),
    "an older terminal": (Terminal(), {"TERM": "xterm-256color"}, "256"),
}


@pytest.mark.parametrize(
    ("stream", "environment", "colours"), PALETTES.values(), ids=PALETTES.keys()
)
def test_colours_fit_the_stream(
    stream: TextIO, environment: Mapping[str, str], colours: str
) -> None:
    """And whoever wants none gets none (no-color.org)."""
    assert colours_for(stream, environment) == colours


KINDS = {
    "a terminal": (Terminal(), {}, False, False, InPlace),
    "a terminal, plain": (Terminal(), {}, False, True, PlainLines),
    "a dumb terminal": (Terminal(), {"TERM": "dumb"}, False, False, PlainLines),
    "a pipe": (io.StringIO(), {}, False, False, PlainLines),
    "JSON": (Terminal(), {}, True, False, JsonLines),
}


@pytest.mark.parametrize(
    ("stream", "environment", "as_json", "plain", "kind"), KINDS.values(), ids=KINDS.keys()
)
def test_the_drawing_fits_the_stream(
    stream: TextIO, environment: Mapping[str, str], as_json: bool, plain: bool, kind: type
) -> None:
    """In place only where there is a place."""
    arguments = argparse.Namespace(json=as_json, plain=plain)
    assert isinstance(drawing_for(SITE, stream, environment, arguments), kind)


def test_lines_come_with_changes_only() -> None:
    """Each says what decides."""
    stream = io.StringIO()
    lines = PlainLines(SITE, stream, "none")
    lines.draw(picture(WORKING))
    first = stream.getvalue()
    assert len(first.splitlines()) == len(SITE.segments)
    assert "plover processing 50%: filling, by rule 'working'" in first
    lines.draw(picture(WORKING))
    assert stream.getvalue() == first
    lines.draw(picture(WORKING, STUCK))
    added = stream.getvalue().removeprefix(first).splitlines()
    assert [name for name in SITE.segments for line in added if name in line] == [
        "door-sill",
        "shelf",
    ]
    assert all("feed-me" in line for line in added)


def test_json_lines_have_the_documented_shape() -> None:
    """Notes that warn are among them, others are not."""
    stream = io.StringIO()
    lines = JsonLines(stream)
    lines.note(Note("info", "source is up", {"source": "shed"}))
    lines.note(Note("warning", "source is lost", {"source": "shed"}))
    lines.draw(picture(WORKING))
    written = stream.getvalue().splitlines()
    values = [hold_to_shape(line, "dry-run") for line in written]
    assert values[0] == {"note": "source is lost", "source": "shed"}
    assert len(values) == 1 + len(SITE.segments)
    assert json.loads(written[1])["segment"] == "door-frame"


def test_a_terminal_is_drawn_over(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two lines a segment, the last warnings below, and again in the same place."""
    monkeypatch.setattr("shutil.get_terminal_size", lambda: (80, 30))
    screen = Terminal()
    drawing = InPlace(SITE, screen, "truecolour")
    drawing.note(Note("warning", "source is lost", {"source": "shed"}))
    assert drawing.draw(picture(WORKING)) is False
    first = screen.getvalue()
    height = 2 * len(SITE.segments) + 1
    assert first.count("\n") == height
    assert "! source is lost: source shed" in first
    # A flash moves by itself and wants to be drawn again.
    assert drawing.draw(picture(WORKING, STUCK)) is True
    assert screen.getvalue().removeprefix(first).startswith(f"\x1b[{height}A")


def test_a_small_screen_is_not_overrun(monkeypatch: pytest.MonkeyPatch) -> None:
    """What has no room could not be drawn over: it is counted."""
    monkeypatch.setattr("shutil.get_terminal_size", lambda: (30, 6))
    screen = Terminal()
    InPlace(SITE, screen, "none").draw(picture())
    lines = screen.getvalue().replace("\x1b[2K", "").replace("\x1b[J", "").splitlines()
    assert len(lines) == 5
    assert "more lines: make the window higher" in lines[-1]
    assert max(map(len, lines[:-1])) <= 30


def test_pixels_are_those_that_the_controller_is_told() -> None:
    """Half of a gauge of 60 is lit in the scene's colour at its brightness."""
    view = picture(WORKING)
    frame = segment_frame(SITE, view.segments["shelf"], view)
    scene = SITE.scenes["filling"]
    lit = bytes(int(part * scene.brightness + 0.5) for part in scene.colour)
    assert len(frame) == 180
    assert frame[:3] == frame[87:90] == lit
    assert frame[90:93] != lit


def test_a_flash_of_the_controller_s_own_is_drawn_from_its_beginning() -> None:
    """As bright as the controller is told for one half, dimmer for the other, and so on."""
    scene = SITE.scenes["feed-me"]
    lit = bytes(round(part * scene.brightness) for part in scene.colour)
    seen = []
    for later_ms in (10, 410):
        view = picture(WORKING, STUCK, STUCK, every_ms=later_ms)
        seen.append(segment_frame(SITE, view.segments["shelf"], view)[:3])
    assert max(seen[0]) == pytest.approx(max(lit), abs=2)
    assert 0 < max(seen[1]) < max(lit) / 2


def test_what_a_controller_cannot_paint_is_not_drawn() -> None:
    """A pattern of every third pixel is the whole segment where only whole segments are told."""
    bars = replace(SITE.dialects["bars"], paint=None)
    site = replace(SITE, dialects={**SITE.dialects, "bars": bars})
    view = picture(site=site)
    assert view.segments["door-frame"].scene == "not-known"
    assert 0 not in segment_frame(site, view.segments["door-frame"], view)


@pytest.mark.parametrize(
    ("page", "words"),
    [
        (WORKING, "plover processing 50%"),
        # What a printer at rest says of its last job is no progress.
        (WORKING.replace(b"12", b"7"), "plover idle"),
        (b"{}", "plover state unknown"),
    ],
)
def test_a_printer_in_one_phrase(page: bytes, words: str) -> None:
    """Its name and what matters of it."""
    assert printer_words(picture(page).printers["plover"]) == words


def test_what_is_not_heard_is_said() -> None:
    """Before anything was."""
    assert printer_words(picture().printers["plover"]) == "plover state unknown not heard"
