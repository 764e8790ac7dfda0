"""From a scene to the look that a controller can be told, and what is lost on the way."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bridge.facts.values import FactValue
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.place import Place
from bridge.scenes.frames import frame
from bridge.scenes.parts import Part, fits, mark_frame, split_frame
from bridge.scenes.scene import CALM, CALM_MS, PERIOD_MS, Rate, Scene

#: How many frames a swell or a march has: smooth enough to the eye, few enough for small boards.
_CALM_FRAMES: Final = 20


class Kept(Enum):
    """How much of a scene a controller can show."""

    WHOLE = "shown as it is"
    NO_FLASH = "shown steady: the dialect can neither flash at that rate nor paint pixels"
    NO_MOTION = "shown steady: the dialect cannot paint pixels"
    NO_PATTERN = "shown without its pattern: the dialect cannot paint pixels"
    NO_GAUGE = "shown without its gauge: the dialect cannot paint pixels"
    NOTHING = "cannot be shown: the dialect has neither a steady effect nor painting"
    NO_SPLIT = "shows the worst of its printers: the dialect cannot paint pixels"
    NO_SHARES = "shows the worst of its printers: a share would have fewer than 3 pixels"
    NO_MARK = "shows the worst of its printers: the dialect cannot paint the mark that names one"
    NO_BLOCKS = "shows the worst of its printers: the mark that names one needs 3 pixels for each"


@dataclass(frozen=True, slots=True)
class Chosen:
    """The look, and what of the scene it keeps."""

    look: Look | None
    kept: Kept


def plain_look(scene: Scene) -> Native:
    """A scene without pattern and motion, as a controller can store it for its power-up."""
    return Native("steady", scene.colour, scene.brightness)


def choose_look(
    scene: Scene, dialect: Dialect, place: Place, inputs: Mapping[str, FactValue]
) -> Chosen:
    """The controller's own effect where it has one that fits, else painted pixels, else less."""
    steady = Native("steady", scene.colour, scene.brightness, fade_ms=scene.fade_ms)
    has_steady = dialect.can("steady", scene.rate) is not None
    if scene.effect == "flash":
        return _flash(scene, dialect, place, steady if has_steady else None)
    if scene.effect in CALM:
        return _calm(scene, dialect, place, steady if has_steady else None)
    if scene.effect == "steady" and scene.pattern == "whole" and has_steady:
        return Chosen(steady, Kept.WHOLE)
    if dialect.paints:
        return Chosen(Still(frame(scene, place.length, 0, inputs), scene.fade_ms), Kept.WHOLE)
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
    rates: set[Rate] = {scene.rate for scene, _ in parts if scene.effect == "flash"}
    if rates:
        # What is calm stands still beside a flash: its period is another.
        return Chosen(
            _moving(lambda ms: split_frame(parts, place.length, ms, calm_ms=0), rates), Kept.WHOLE
        )
    if any(scene.effect in CALM for scene, _ in parts):
        return Chosen(_slowly(lambda ms: split_frame(parts, place.length, ms)), Kept.WHOLE)
    return Chosen(Still(split_frame(parts, place.length, 0)), Kept.WHOLE)


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

        def whole(milliseconds: int) -> bytes:
            return frame(scene, place.length, milliseconds, {})

        return Chosen(_moving(whole, {scene.rate}), Kept.WHOLE)
    return Chosen(steady, Kept.NO_FLASH) if steady is not None else Chosen(None, Kept.NOTHING)


def _calm(scene: Scene, dialect: Dialect, place: Place, steady: Native | None) -> Chosen:
    """Painted; else it stands still at its brightest, which says the same."""
    if dialect.paints:
        return Chosen(_slowly(lambda ms: frame(scene, place.length, ms, {})), Kept.WHOLE)
    return Chosen(steady, Kept.NO_MOTION) if steady is not None else Chosen(None, Kept.NOTHING)


def _slowly(picture: Callable[[int], bytes]) -> Moving:
    """The frames of a swell or a march; at half the pace where the link does not carry it."""
    frames = tuple(picture(number * CALM_MS // _CALM_FRAMES) for number in range(_CALM_FRAMES))
    return Moving(frames, (CALM_MS, 2 * CALM_MS))


def _moving(picture: Callable[[int], bytes], rates: set[Rate]) -> Moving:
    """The frames of one period of the slowest of these rates, which are one double of the other.

    The brighter halves of all come first. Where the link does not carry that, all go at half the
    rate, which is still one of the two or slower.
    """
    period_ms = max(PERIOD_MS[rate] for rate in rates)
    count = 2 * period_ms // min(PERIOD_MS[rate] for rate in rates)
    frames = tuple(picture(-(-number * period_ms // count)) for number in range(count))
    return Moving(frames, (period_ms, 2 * period_ms))
