"""From a scene to the look that a controller can be told, and what is lost on the way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from bridge.facts.values import FactValue
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Look, Native, Still
from bridge.lights.place import Place
from bridge.scenes.frames import frame
from bridge.scenes.scene import Scene


class Kept(Enum):
    """How much of a scene a controller can show."""

    WHOLE = "shown as it is"
    NO_FLASH = "shown steady: the dialect has no flash whose period is within the rate"
    NO_PATTERN = "shown without its pattern: the dialect cannot paint pixels"
    NO_GAUGE = "shown without its gauge: the dialect cannot paint pixels"
    NOTHING = "cannot be shown: the dialect has neither a steady effect nor painting"


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
        if dialect.can("flash", scene.rate) is not None:
            native = Native("flash", scene.colour, scene.brightness, scene.rate)
            return Chosen(native, Kept.WHOLE if scene.pattern == "whole" else Kept.NO_PATTERN)
        # The brighter half, never the dimmer: a flash that cannot flash must not be overlooked.
        return _flat(scene, dialect, place, steady if has_steady else None, Kept.NO_FLASH)
    if scene.effect == "steady" and scene.pattern == "whole" and has_steady:
        return Chosen(steady, Kept.WHOLE)
    if dialect.paints:
        return Chosen(Still(frame(scene, place.length, 0, inputs)), Kept.WHOLE)
    lost = Kept.NO_GAUGE if scene.effect == "gauge" else Kept.NO_PATTERN
    return Chosen(steady, lost) if has_steady else Chosen(None, Kept.NOTHING)


def _flat(
    scene: Scene, dialect: Dialect, place: Place, steady: Native | None, lost: Kept
) -> Chosen:
    if steady is not None:
        return Chosen(steady, lost)
    if dialect.paints:
        return Chosen(Still(frame(scene, place.length, 0, {})), lost)
    return Chosen(None, Kept.NOTHING)
