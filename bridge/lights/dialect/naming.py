"""What the names of a template stand for: a place, and a light, in the dialect's own writing."""

from __future__ import annotations

import colorsys
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

from bridge.lights.dialect.codecs import (
    Json,
    encode_colour,
    encode_count,
    encode_scale,
    encode_time,
    encode_turn,
    encode_word,
    least_proportion,
)
from bridge.lights.dialect.grammar import DialectGrammar, NativeEffect
from bridge.lights.look import Native
from bridge.lights.place import Place
from bridge.scenes.scene import Colour


@dataclass(frozen=True, slots=True)
class Light:
    """A light to be written.

    ``level`` is what ``{level}`` writes; ``drive`` is folded into the colour, the channels or the
    value: 1 where the level has a place of its own.
    """

    colour: Colour
    level: float
    drive: float
    lit: bool
    effect: Json
    fade_ms: int = 0
    #: Whether ``{white}`` is written too: it takes what red, green and blue have in common.
    has_white: bool = False

    @property
    def hsv(self) -> tuple[float, float, float]:
        """Hue (of a turn), saturation, value, each 0..1."""
        red, green, blue = self.colour
        return colorsys.rgb_to_hsv(red / 255, green / 255, blue / 255)

    @property
    def channels(self) -> tuple[float, float, float, float]:
        """Red, green, blue and white as they are driven, each 0..1."""
        white = min(self.colour) if self.has_white else 0
        red, green, blue = ((channel - white) / 255 * self.drive for channel in self.colour)
        return red, green, blue, white / 255 * self.drive


def native_light(
    grammar: DialectGrammar,
    native: Native,
    effect: NativeEffect,
    *,
    folded: bool,
    has_white: bool = False,
) -> Light:
    """A native look as it is sent. ``folded``: the template has no place for the level."""
    drive = 1.0
    if folded:
        least = least_proportion(grammar.level) if native.lit else 0.0
        drive = max(native.level, least)
    return Light(
        native.colour,
        native.level,
        drive,
        native.lit,
        effect.name,
        native.fade_ms,
        has_white,
    )


def painted_light(colour: Colour, *, has_white: bool = False, fade_ms: int = 0) -> Light:
    """A painted pixel: its brightness is in its colour already, so the level is full."""
    return Light(colour, 1.0, 1.0, any(colour), None, fade_ms, has_white)


WHITE: Final = "white"
_PlaceName: TypeAlias = Callable[[DialectGrammar, Place], Json]
_LightName: TypeAlias = Callable[[DialectGrammar, Light], Json]

PLACE_NAMES: Final[Mapping[str, _PlaceName]] = {
    "segment": lambda _, place: place.segment,
    "number": lambda grammar, place: encode_count(grammar.number, place.number),
    "first": lambda grammar, place: encode_count(grammar.first, place.first),
    "last": lambda grammar, place: encode_count(grammar.last, place.last),
    "length": lambda grammar, place: encode_count(grammar.length, place.length),
}
#: ``least`` is for the whole light: a channel of a lit colour may be nought.
LIGHT_NAMES: Final[Mapping[str, _LightName]] = {
    "colour": lambda grammar, light: encode_colour(
        grammar.colour, light.colour, light.drive, grammar.level.rounding
    ),
    "level": lambda grammar, light: encode_scale(grammar.level, light.level, lit=light.lit),
    "effect": lambda _, light: light.effect,
    "on": lambda grammar, light: encode_word(grammar.on, light.lit),
    "red": lambda grammar, light: encode_scale(grammar.red, light.channels[0], lit=False),
    "green": lambda grammar, light: encode_scale(grammar.green, light.channels[1], lit=False),
    "blue": lambda grammar, light: encode_scale(grammar.blue, light.channels[2], lit=False),
    WHITE: lambda grammar, light: encode_scale(grammar.white, light.channels[3], lit=False),
    "hue": lambda grammar, light: encode_turn(grammar.hue, light.hsv[0]),
    "saturation": lambda grammar, light: encode_scale(grammar.saturation, light.hsv[1], lit=False),
    "value": lambda grammar, light: encode_scale(
        grammar.value, light.hsv[2] * light.drive, lit=light.lit
    ),
}
PIXEL: Final = "pixel"
FADE: Final = "fade"
#: What is told and never compared: it is over by the time that it could be read.
TIME_NAMES: Final[Mapping[str, _LightName]] = {
    FADE: lambda grammar, light: encode_time(grammar.fade, light.fade_ms),
    "lasts": lambda grammar, _: encode_time(grammar.lasts, grammar.lasts_ms or 0),
}


def place_names(grammar: DialectGrammar, place: Place, wanted: Iterable[str]) -> dict[str, Json]:
    """Those of the wanted names that tell where."""
    return {name: PLACE_NAMES[name](grammar, place) for name in wanted if name in PLACE_NAMES}


def light_names(grammar: DialectGrammar, light: Light, wanted: Collection[str]) -> dict[str, Json]:
    """Those of the wanted names that tell what light."""
    found = {name: LIGHT_NAMES[name](grammar, light) for name in wanted if name in LIGHT_NAMES}
    for name, write in TIME_NAMES.items():
        if name in wanted:
            found[name] = write(grammar, light)
    return found
