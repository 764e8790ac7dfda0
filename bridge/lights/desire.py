"""From a scene to the look that a controller can be told, and what is lost on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from bridge.facts.values import FactValue
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.place import Place
from bridge.scenes.frames import frame
from bridge.scenes.parts import Part, fits, mark_frame, split_frame
from bridge.scenes.scene import PERIOD_MS, Scene


class Kept(Enum):
    """How much of a scene a controller can show."""

    WHOLE = "shown as it is"
    NO_FLASH = "shown steady: the dialect can neither flash at that rate nor paint pixels"
    NO_PATTERN = "shown without its pattern: the dialect cannot paint pixels"
    NO_GAUGE = "shown without its gauge: the dialect cannot paint pixels"
    NOTHING = "cannot be shown: the dialect has neither a steady effect nor painting"
    SPLIT_STEADY = "shown steady: a share of a segment is painted, and what is painted stands still"
    NO_SPLIT = "shows the worst of its printers: the dialect cannot paint pixels"
    NO_SHARES = "shows the worst of its printers: a share would have fewer than 3 pixels"
    NO_MARK = "shows the worst of its printers: the dialect cannot paint the mark that names one"
    NO_BLOCKS = "shows the worst of its printers: the mark that names one needs 3 pixels for each"


@dataclass(frozen=True, slots=True)
class Chosen:
    """The look, and what of the scene it keeps."""

    look: Look | None
    kept: Kept


def choose_look(
    scene: Scene, dialect: Dialect, place: Place, inputs: Mapping[str, FactValue]
) -> Chosen:
    """The controller's own effect where it has one that fits, else painted pixels, else less."""
    steady = Native("steady", scene.colour, scene.brightness)
    has_steady = dialect.can("steady", scene.rate) is not None
    if scene.effect == "flash":
        return _flash(scene, dialect, place, steady if has_steady else None)
    if scene.effect == "steady" and scene.pattern == "whole" and has_steady:
        return Chosen(steady, Kept.WHOLE)
    if dialect.paints:
        return Chosen(Still(frame(scene, place.length, 0, inputs)), Kept.WHOLE)
    lost = Kept.NO_GAUGE if scene.effect == "gauge" else Kept.NO_PATTERN
    return Chosen(steady, lost) if has_steady else Chosen(None, Kept.NOTHING)


def choose_split(parts: Sequence[Part], dialect: Dialect, place: Place) -> Chosen:
    """A share for each printer, in the segment's order; no look where that cannot be shown.

    Without a look the segment is to show the worst of its printers: a printer that is left out
    would seem to be well.
    """
    if not dialect.paints:
        return Chosen(None, Kept.NO_SPLIT)
    if not fits(place.length, len(parts)):
        return Chosen(None, Kept.NO_SHARES)
    flashes = any(scene.effect == "flash" for scene, _ in parts)
    kept = Kept.SPLIT_STEADY if flashes else Kept.WHOLE
    return Chosen(Still(split_frame(parts, place.length, 0)), kept)


def choose_mark(number: int, of: int, dialect: Dialect, place: Place) -> Chosen:
    """The mark of the ``number``-th (from 1) of the segment's printers, or no look likewise."""
    if not dialect.paints:
        return Chosen(None, Kept.NO_MARK)
    if not fits(place.length, of):
        return Chosen(None, Kept.NO_BLOCKS)
    return Chosen(Still(mark_frame(number, of, place.length)), Kept.WHOLE)


def _flash(scene: Scene, dialect: Dialect, place: Place, steady: Native | None) -> Chosen:
    """The controller's own flash; else two frames in turn; else the brighter of its halves.

    A flash that cannot flash must not be overlooked.
    """
    is_native = dialect.can("flash", scene.rate) is not None
    native = Native("flash", scene.colour, scene.brightness, scene.rate)
    if is_native and (scene.pattern == "whole" or not dialect.paints):
        return Chosen(native, Kept.WHOLE if scene.pattern == "whole" else Kept.NO_PATTERN)
    if dialect.paints:
        period_ms = PERIOD_MS[scene.rate]
        halves = tuple(frame(scene, place.length, at, {}) for at in (0, (period_ms + 1) // 2))
        slower = (each for each in PERIOD_MS.values() if each > period_ms)
        return Chosen(Moving(halves, (period_ms, *sorted(slower))), Kept.WHOLE)
    return Chosen(steady, Kept.NO_FLASH) if steady is not None else Chosen(None, Kept.NOTHING)
