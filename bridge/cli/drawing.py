"""How a dry run is drawn: in place on a terminal, else one line for each change."""

from __future__ import annotations

import argparse
import json
import shutil
import time
from collections.abc import Mapping
from dataclasses import replace
from typing import Final, TextIO

from bridge.engine.actions import Note
from bridge.engine.site import Site, scene_on
from bridge.engine.view import PrinterView, SegmentView, View
from bridge.facts.values import Unknown, Why
from bridge.lights.look import Moving, Native, Still
from bridge.one_line import one_line
from bridge.rules.conditions import shown
from bridge.scenes.frames import frame
from bridge.scenes.terminal import Colours, draw
from bridge.service.running import Drawing

_NOT_OFFERED: Final = Unknown(Why.NOT_OFFERED)
_ROW_WIDTH: Final = 40
#: A segment's name and two blanks stand before its row.
_NAME_WIDTH: Final = 12


def colours_for(stream: TextIO, environment: Mapping[str, str]) -> Colours:
    """What the terminal can show; NO_COLOR and a pipe get characters instead of colours."""
    if not stream.isatty() or environment.get("NO_COLOR") or environment.get("TERM") == "dumb":
        return "none"
    return "truecolour" if environment.get("COLORTERM") in {"truecolor", "24bit"} else "256"


def drawing_for(
    site: Site, stream: TextIO, environment: Mapping[str, str], arguments: argparse.Namespace
) -> Drawing:
    """The drawing that fits the stream."""
    if arguments.json:
        return JsonLines(stream)
    colours = colours_for(stream, environment)
    if arguments.plain or not stream.isatty() or environment.get("TERM") == "dumb":
        return PlainLines(site, stream, colours)
    return InPlace(site, stream, colours)


def segment_frame(site: Site, segment: SegmentView, view: View) -> bytes:
    """The pixels of a segment at the view's instant, as far as its controller can show them."""
    look = segment.look
    if look is None:
        return bytes(3 * segment.pixels)
    if isinstance(look, Still):
        return look.frame
    if isinstance(look, Moving):
        number = look.number_at(view.now_ms - segment.since_ms, look.periods_ms[0])
        return look.frames[number]
    # The dimmer half of a flash is the scene's; all else is as the controller is told.
    scene = replace(
        scene_on(site, site.segments[segment.name], segment.scene),
        effect=look.effect,
        pattern="whole",
        colour=look.colour,
        brightness=look.level,
        rate=look.rate,
    )
    return frame(scene, segment.pixels, view.now_ms - segment.since_ms, {})


def printer_words(printer: PrinterView) -> str:
    """A printer's name and what matters of it, in one phrase."""
    facts = printer.facts
    state = facts.get("state", _NOT_OFFERED)
    words = [printer.name, "state unknown" if isinstance(state, Unknown) else shown(state)]
    progress = facts.get("progress", _NOT_OFFERED)
    if isinstance(progress, float) and state == "processing":
        words.append(f"{progress:.0%}")
    if facts.get("stale") is True:
        words.append("not heard")
    return one_line(" ".join(words))


def _said(segment: SegmentView, view: View) -> str:
    who = ", ".join(printer_words(view.printers[name]) for name in segment.printers)
    rule = f"by rule '{segment.rule}'" if segment.rule else "its resting scene"
    return f"{who + ': ' if who else ''}{segment.scene}, {rule}"


class JsonLines:
    """One JSON object for each change of a segment."""

    pause_s = 0.05

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._last: dict[str, tuple[str, str]] = {}

    def note(self, note: Note) -> None:
        """Notes are not part of this output, but for what went wrong."""
        if note.level in {"warning", "error"}:
            self._write({"note": note.event, **note.fields})

    def draw(self, view: View) -> bool:
        """Write what changed."""
        for segment in view.segments.values():
            now = (segment.rule, segment.scene)
            if self._last.get(segment.name) != now:
                self._last[segment.name] = now
                self._write(
                    {
                        "segment": segment.name,
                        "printers": list(segment.printers),
                        "rule": segment.rule or None,
                        "scene": segment.scene,
                        "because": segment.because,
                    }
                )
        return False

    def close(self) -> None:
        """Nothing to put back."""

    def _write(self, line: Mapping[str, object]) -> None:
        print(json.dumps(line), file=self._stream, flush=True)


class PlainLines:
    """One line for each change of what a segment shows."""

    pause_s = 0.2

    def __init__(self, site: Site, stream: TextIO, colours: Colours) -> None:
        self._site, self._stream, self._colours = site, stream, colours
        self._last: dict[str, tuple[str, str]] = {}

    def note(self, note: Note) -> None:
        """A line for each warning."""
        if note.level in {"warning", "error"}:
            print(_note_words(note), file=self._stream, flush=True)

    def draw(self, view: View) -> bool:
        """Write what changed."""
        for segment in view.segments.values():
            now = (segment.rule, segment.scene)
            if self._last.get(segment.name) != now:
                self._last[segment.name] = now
                row = draw(
                    segment_frame(self._site, segment, view),
                    colours=self._colours,
                    width=_ROW_WIDTH,
                )
                clock = time.strftime("%H:%M:%S")
                words = f"{clock} {segment.name:<12} {row} {_said(segment, view)}"
                print(words, file=self._stream, flush=True)
        return False

    def close(self) -> None:
        """Nothing to put back."""


class InPlace:
    """All segments, redrawn where they stand; what has no room on the screen is counted."""

    pause_s = 0.1

    def __init__(self, site: Site, stream: TextIO, colours: Colours) -> None:
        self._site, self._stream, self._colours = site, stream, colours
        self._notes: list[str] = []
        self._height = 0

    def note(self, note: Note) -> None:
        """The last three warnings stand below the picture."""
        if note.level in {"warning", "error"}:
            self._notes = [*self._notes[-2:], _note_words(note)]

    def draw(self, view: View) -> bool:
        """Draw over the picture before."""
        columns, rows = shutil.get_terminal_size()
        columns = max(20, columns)
        lines: list[str] = []
        for segment in view.segments.values():
            row = draw(
                segment_frame(self._site, segment, view),
                colours=self._colours,
                width=min(_ROW_WIDTH, columns - _NAME_WIDTH - 2),
            )
            lines.append(f"{segment.name[:_NAME_WIDTH]:<{_NAME_WIDTH}}  {row}")
            lines.append(f"  {_said(segment, view)}"[: columns - 1])
        notes = [f"! {words}"[: columns - 1] for words in self._notes]
        lines = _with_room(lines, notes, rows)
        up = f"\x1b[{self._height}A" if self._height else ""
        self._stream.write(up + "".join(f"\x1b[2K{line}\n" for line in lines) + "\x1b[J")
        self._stream.flush()
        self._height = len(lines)
        return any(
            isinstance(each.look, Moving)
            or (isinstance(each.look, Native) and each.look.effect == "flash")
            for each in view.segments.values()
        )

    def close(self) -> None:
        """The picture stays; whatever comes after stands below it."""
        self._stream.write("\x1b[0m")
        self._stream.flush()


def _with_room(lines: list[str], notes: list[str], rows: int) -> list[str]:
    """What a screen of so many rows holds, the cursor's own below it: more could not be redrawn."""
    room = max(1, rows - 1 - len(notes))
    if len(lines) > room:
        hidden = len(lines) - room + 1
        lines = [*lines[: room - 1], f"({hidden} more lines: make the window higher)"]
    return [*lines, *notes]


def _note_words(note: Note) -> str:
    fields = ", ".join(f"{name} {value}" for name, value in note.fields.items())
    return one_line(f"{note.event}{': ' + fields if fields else ''}")
