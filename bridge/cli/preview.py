"""``lampwright preview``: the scenes of a site, in the terminal or in a picture file."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TextIO, get_args

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError
from bridge.one_line import one_line
from bridge.scenes.sight import Sight

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from bridge.engine.site import Site
    from bridge.scenes.picture import Picture
    from bridge.scenes.scene import Scene
    from bridge.scenes.sheet import Line
    from bridge.scenes.terminal import Colours

_FRAME_S = 0.1
_MOST_PIXELS = 500
_MOST_SECONDS = 86_400
_ENDINGS = (".svg", ".png", ".gif")


class NoSceneError(LampwrightError):
    """A scene was named that the legend does not have."""

    def __init__(self, name: str, nearest: str | None) -> None:
        hint = f", did you mean '{nearest}'" if nearest else ""
        super().__init__(f"no scene '{name}' in legend.yaml{hint}")


class TableAndScenesError(LampwrightError):
    """The whole table, and some scenes: it cannot be both."""

    def __init__(self) -> None:
        super().__init__("--table draws every scene that its rules show; name no scene with it")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "preview",
        help=COMMANDS["preview"],
        description="Draws the scenes of the legend, moving as on the wall. A gauge fills once in "
        "ten seconds; its look without a known value stands below it. Where no scene is named, "
        "those that show for an alarm are drawn as they answer it, too.",
        epilog="example: lampwright preview config --sight deuteranopia --to legend.gif",
    )
    add_site(parser)
    parser.add_argument("scenes", metavar="SCENE", nargs="*", help="which (default: all)")
    parser.add_argument("--still", action="store_true", help="one frame only")
    parser.add_argument(
        "--sight",
        choices=get_args(Sight),
        default="normal",
        help="as that sight sees it, about: strips are purer than screens (default normal)",
    )
    parser.add_argument(
        "--table",
        action="store_true",
        help="what shows in which state, as 'check --matrix' draws it, instead of the scenes",
    )
    parser.add_argument(
        "--to",
        metavar="FILE",
        type=Path,
        help="write the picture to a file that ends in .svg, .png or .gif",
    )
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
    from bridge.cli.to_file import ending_of
    from bridge.settings.load import load_site

    if arguments.table and arguments.scenes:
        raise TableAndScenesError
    ending = None if arguments.to is None else ending_of(arguments.to, _ENDINGS)
    site = load_site(site_directory(arguments.site))
    if arguments.table:
        _table(site, ending, arguments)
        return 0
    lines = list(_lines(site, arguments))
    if ending is None:
        _on_terminal(lines, arguments)
    else:
        from bridge.scenes.sheet import contact_sheet

        title = _title("What the scenes look like", arguments)
        _to_file(contact_sheet(title, lines, moving=not arguments.still), ending, arguments)
    return 0


def _table(site: Site, ending: str | None, arguments: argparse.Namespace) -> None:
    import os
    import sys

    from bridge.check.matrix import matrix_of
    from bridge.cli.check_tables import matrix_lines
    from bridge.cli.drawing import colours_for
    from bridge.cli.table_picture import table_picture

    matrices = [matrix_of(site, table) for table in site.tables.values()]
    if ending is not None:
        title = _title("What shows when", arguments)
        moving = not arguments.still
        made = table_picture(title, site, matrices, arguments.sight, moving=moving)
        _to_file(made, ending, arguments)
        return
    colours = colours_for(sys.stdout, os.environ)
    drawn = [matrix_lines(site, matrix, colours, arguments.sight) for matrix in matrices]
    print("\n\n".join("\n".join(lines) for lines in drawn))


def _to_file(picture: Picture, ending: str, arguments: argparse.Namespace) -> None:
    from bridge.cli.raster import gif, png
    from bridge.cli.to_file import write
    from bridge.scenes.picture import svg

    match ending:
        case ".png":
            write(arguments.to, png(picture))
        case ".gif":
            write(arguments.to, gif(picture))
        case _:
            write(arguments.to, svg(picture).encode())
    print(one_line(str(arguments.to)))


def _title(what: str, arguments: argparse.Namespace) -> str:
    return what if arguments.sight == "normal" else f"{what}, {arguments.sight}, about"


def _on_terminal(lines: Sequence[Line], arguments: argparse.Namespace) -> None:
    import os
    import shutil
    import sys
    import time

    from bridge.cli.drawing import colours_for

    colours = colours_for(sys.stdout, os.environ)
    width = max(len(line.name) for line in lines)
    moving = not arguments.still and sys.stdout.isatty() and colours != "none"
    started = time.monotonic()
    elapsed = 0.0
    while True:
        # What does not fit on a line, or on the screen, could not be drawn over.
        columns, rows = shutil.get_terminal_size() if moving else (None, None)
        layout = Layout(width, columns, colours)
        drawn = [layout.line(line, round(elapsed * 1000)) for line in lines]
        drawn = drawn[: rows - 1] if rows else drawn
        sys.stdout.write("".join(f"\x1b[2K{line}\n" if moving else f"{line}\n" for line in drawn))
        sys.stdout.flush()
        if not moving or elapsed >= arguments.seconds:
            return
        time.sleep(_FRAME_S)
        elapsed = time.monotonic() - started
        _up(sys.stdout, len(drawn))


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

    def line(self, line: Line, milliseconds: int) -> str:
        """A line that ends within the screen: the strip is drawn shorter, the words are cut."""
        from bridge.scenes.terminal import draw

        name, words, pixels = line.name, line.words, line.strip.at(milliseconds)
        if self.columns is None:
            strip = draw(pixels, colours=self.colours)
            return f"{name:<{self.names}}  {strip}  {words}"
        room = max(1, self.columns - self.names - 5)
        strip = draw(pixels, colours=self.colours, width=room)
        room -= min(room, len(pixels) // 3)
        return f"{name:<{self.names}}  {strip}  {words[:room]}".rstrip()


def _lines(site: Site, arguments: argparse.Namespace) -> Iterator[Line]:
    """The scenes that are named; else all, and how they answer to alarms where they do."""
    from bridge.check.scenes import ANSWERS, answering_scenes
    from bridge.scenes.manner import manner
    from bridge.scenes.sheet import Line
    from bridge.scenes.strip import Strip
    from bridge.scenes.variants import variant

    pixels, sight = arguments.pixels, arguments.sight
    answering = frozenset() if arguments.scenes else answering_scenes(site)
    for name in arguments.scenes or site.scenes:
        scene = _scene(site, name)
        strip = Strip(scene, pixels, "filling", sight)
        yield Line(name, strip, f"says {scene.says}, {manner(scene)}")
        if scene.effect == "gauge":
            unknown = Strip(scene, pixels, "unknown", sight)
            yield Line("", unknown, f"the same, {scene.source} not known")
        if name not in answering and (arguments.scenes or not scene.variants):
            continue
        for answer in ANSWERS:
            look = variant(scene, answer)
            words = "the same" if look is scene else manner(look)
            yield Line(f"  {answer}", Strip(look, pixels, "filling", sight), words)
