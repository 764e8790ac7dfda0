"""``lampwright preview``: the scenes of a site, drawn in the terminal."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import TYPE_CHECKING, TextIO

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError

if TYPE_CHECKING:
    from bridge.engine.site import Site
    from bridge.scenes.scene import Scene
    from bridge.scenes.terminal import Colours

_FRAME_S = 0.1
#: A gauge is shown filling once in this time, in seconds.
_GAUGE_S = 10.0
_MOST_PIXELS = 500
_MOST_SECONDS = 86_400


class NoSceneError(LampwrightError):
    """A scene was named that the legend does not have."""

    def __init__(self, name: str, nearest: str | None) -> None:
        hint = f", did you mean '{nearest}'" if nearest else ""
        super().__init__(f"no scene '{name}' in legend.yaml{hint}")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "preview",
        help=COMMANDS["preview"],
        description="Draws the scenes of the legend, moving as on the wall. A gauge fills once in "
        "ten seconds; its look without a known value stands beside it.",
        epilog="example: lampwright preview config filling --still",
    )
    add_site(parser)
    parser.add_argument("scenes", metavar="SCENE", nargs="*", help="which (default: all)")
    parser.add_argument("--still", action="store_true", help="one frame only")
    parser.add_argument(
        "--pixels", type=_pixels, default=40, help="length of the strip (default 40)"
    )
    parser.add_argument(
        "--seconds", type=_seconds, default=20.0, help="how long to move (default 20)"
    )
    parser.set_defaults(run=run)


def _pixels(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= _MOST_PIXELS:
        raise argparse.ArgumentTypeError(f"'{text}' is not from 1 to {_MOST_PIXELS}")
    return int(text)


def _seconds(text: str) -> float:
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0 <= number <= _MOST_SECONDS:
        raise argparse.ArgumentTypeError(f"'{text}' is not from 0 to {_MOST_SECONDS} seconds")
    return number


def run(arguments: argparse.Namespace) -> int:
    """Draw."""
    import os
    import shutil
    import sys
    import time

    from bridge.cli.drawing import colours_for
    from bridge.settings.load import load_site

    site = load_site(site_directory(arguments.site))
    scenes = [_scene(site, name) for name in arguments.scenes or site.scenes]
    colours = colours_for(sys.stdout, os.environ)
    width = max(len(scene.name) for scene in scenes)
    moving = not arguments.still and sys.stdout.isatty() and colours != "none"
    started = time.monotonic()
    elapsed = 0.0
    while True:
        # What does not fit on a line, or on the screen, could not be drawn over.
        columns, rows = shutil.get_terminal_size() if moving else (None, None)
        lines = _lines(scenes, arguments.pixels, elapsed, Layout(width, columns, colours))
        lines = lines[: rows - 1] if rows else lines
        sys.stdout.write("".join(f"\x1b[2K{line}\n" if moving else f"{line}\n" for line in lines))
        sys.stdout.flush()
        if not moving or elapsed >= arguments.seconds:
            return 0
        time.sleep(_FRAME_S)
        elapsed = time.monotonic() - started
        _up(sys.stdout, len(lines))


def _up(stream: TextIO, lines: int) -> None:
    stream.write(f"\x1b[{lines}A")


def _scene(site: Site, name: str) -> Scene:
    import difflib

    if name not in site.scenes:
        near = difflib.get_close_matches(name, site.scenes, n=1)
        raise NoSceneError(name, near[0] if near else None)
    return site.scenes[name]


@dataclass(frozen=True, slots=True)
class Layout:
    """How wide the names are, and the screen, where there is one."""

    names: int
    columns: int | None
    colours: Colours

    def line(self, name: str, pixels: bytes, words: str) -> str:
        """A line that ends within the screen: the strip is drawn shorter, the words are cut."""
        from bridge.scenes.terminal import draw

        if self.columns is None:
            strip = draw(pixels, colours=self.colours)
            return f"{name:<{self.names}}  {strip}  {words}"
        room = max(1, self.columns - self.names - 5)
        strip = draw(pixels, colours=self.colours, width=room)
        room -= min(room, len(pixels) // 3)
        return f"{name:<{self.names}}  {strip}  {words[:room]}".rstrip()


def _lines(scenes: list[Scene], pixels: int, elapsed_s: float, layout: Layout) -> list[str]:
    from bridge.facts.values import FactValue, Unknown, Why
    from bridge.scenes.frames import frame

    lines = []
    for scene in scenes:
        fraction = elapsed_s % _GAUGE_S / _GAUGE_S if elapsed_s else 0.4
        inputs: dict[str, FactValue] = {scene.source: fraction * scene.fills}
        shown = frame(scene, pixels, round(elapsed_s * 1000), inputs)
        lines.append(layout.line(scene.name, shown, f"says {scene.says}, {_manner(scene)}"))
        if scene.effect == "gauge":
            unknown = frame(scene, pixels, 0, {scene.source: Unknown(Why.NOT_HEARD)})
            lines.append(layout.line("", unknown, f"the same, {scene.source} not known"))
    return lines


def _manner(scene: Scene) -> str:
    rate = f" at the {scene.rate} rate" if scene.effect == "flash" else ""
    pattern = f", {scene.pattern}" if scene.pattern != "whole" else ""
    return f"{scene.effect}{rate}{pattern}, {scene.brightness:.0%}"
