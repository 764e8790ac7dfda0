"""What ``lampwright check`` draws: times from cause to light, and the matrix of a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from string import ascii_lowercase

from bridge.check.matrix import Matrix
from bridge.check.times import AlarmTime
from bridge.engine.site import Site
from bridge.one_line import one_line
from bridge.scenes.scene import HAND_BACK
from bridge.scenes.sight import Sight
from bridge.scenes.strip import Strip
from bridge.scenes.terminal import Colours, draw

_GAP = "  "


def times_lines(times: Sequence[AlarmTime]) -> Iterator[str]:
    """A table in seconds, or a line that says that there is none."""
    if not times:
        yield "no alarm is shown for any printer"
        return
    head = ("alarm", "printer", "segment", "heard", "raised", "sent", "together")
    rows = [
        (each.alarm, each.printer, each.segment, *map(_seconds, _parts(each))) for each in times
    ]
    yield from _aligned([head, *rows])


def _parts(each: AlarmTime) -> tuple[int, int, int, int]:
    return each.heard_ms, each.raised_ms, each.sent_ms, each.together_ms


def _seconds(milliseconds: int) -> str:
    return f"{milliseconds / 1000:.1f} s"


def matrix_lines(
    site: Site, matrix: Matrix, colours: Colours, sight: Sight = "normal"
) -> Iterator[str]:
    """Columns are lettered and told below; each scene has its colour before its name."""
    letters = [letter(number) for number in range(len(matrix.columns))]
    yield f"table {matrix.table}"
    # A label may have a rule's name in it, which may be any text.
    labels = [one_line(label) for label, _ in matrix.rows]
    rows = [(label, *scenes) for label, (_, scenes) in zip(labels, matrix.rows, strict=True)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    mark = 3 if colours != "none" else 0
    heads = [name.ljust(width + mark) for name, width in zip(letters, widths[1:], strict=True)]
    yield _GAP.join([" " * widths[0], *heads]).rstrip()
    for label, *scenes in rows:
        cells = [
            _patch(site, scene, colours, sight) + scene.ljust(width)
            for scene, width in zip(scenes, widths[1:], strict=True)
        ]
        yield _GAP.join([label.ljust(widths[0]), *cells]).rstrip()
    for name, column in zip(letters, matrix.columns, strict=True):
        yield f"{name}: {column}"


def letter(number: int) -> str:
    """``a`` to ``z``, then ``aa``, ``ab`` and so on."""
    rest, place = divmod(number, len(ascii_lowercase))
    return (letter(rest - 1) if rest else "") + ascii_lowercase[place]


def _patch(site: Site, name: str, colours: Colours, sight: Sight) -> str:
    if colours == "none":
        return ""
    if name == HAND_BACK:
        return "   "
    plain = replace(site.scenes[name], effect="steady", pattern="whole")
    return draw(Strip(plain, 2, sight=sight).at(0), colours=colours) + " "


def _aligned(rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    """Names to the left, quantities to the right."""
    every = list(rows)
    widths = [max(map(len, column)) for column in zip(*every, strict=True)]
    for row in every:
        cells = [
            cell.ljust(width) if number < 3 else cell.rjust(width)
            for number, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        yield _GAP.join(cells).rstrip()
