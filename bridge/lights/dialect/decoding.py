"""Reading what a controller says it shows as a look of ours again."""

from __future__ import annotations

import colorsys
from collections.abc import Callable, Mapping
from typing import Final, TypeAlias, TypeVar

from bridge.lights.dialect.codecs import (
    CodecError,
    Json,
    decode_colour,
    decode_frame,
    decode_scale,
    decode_word,
    same_json,
)
from bridge.lights.dialect.grammar import DialectGrammar, ScaleCodec
from bridge.scenes.scene import PERIOD_BAND_MS, Colour

#: Names with a scale of their own.
SCALES: Final[Mapping[str, Callable[[DialectGrammar], ScaleCodec]]] = {
    "level": lambda grammar: grammar.level,
    "red": lambda grammar: grammar.red,
    "green": lambda grammar: grammar.green,
    "blue": lambda grammar: grammar.blue,
    "white": lambda grammar: grammar.white,
    "hue": lambda grammar: grammar.hue,
    "saturation": lambda grammar: grammar.saturation,
    "value": lambda grammar: grammar.value,
}

_Value = TypeVar("_Value")
Decoded: TypeAlias = dict[str, object]


def known(decode: Callable[[], _Value]) -> _Value | None:
    """What decodes, or ``None`` for what the codec cannot have written."""
    try:
        return decode()
    except CodecError:
        return None


def decoded(
    grammar: DialectGrammar, seen: Mapping[str, object], *, has_white: bool = False
) -> Decoded:
    """The values read back as a look's own: colour, level, effect, rate, on, frame.

    What cannot be told is left out: a level folded into the colour has no entry, and its colour is
    the light that comes out. ``has_white``: a part of the colour is told as white.
    """
    values: Decoded = {}
    colour = known(lambda: colour_of(grammar, seen, has_white=has_white))
    if colour is not None:
        values["colour"] = colour
    if "level" in seen:
        level = known(lambda: decode_scale(grammar.level, seen["level"]))
        if level is not None:
            values["level"] = level
    if "on" in seen:
        lit = known(lambda: decode_word(grammar.on, seen["on"]))
        if lit is not None:
            values["on"] = lit
    if "pixels" in seen:
        pixel_colour = grammar.pixel_colour or grammar.colour
        frame = known(lambda: decode_frame(grammar.frame, pixel_colour, seen["pixels"]))
        if frame is not None:
            values["frame"] = frame
    return values | _effect(grammar, seen)


def colour_of(
    grammar: DialectGrammar, seen: Mapping[str, object], *, has_white: bool = False
) -> Colour | None:
    """The colour that was written, in whatever names; raises ``CodecError``."""
    if "colour" in seen:
        return decode_colour(grammar.colour, seen["colour"])
    if {"red", "green", "blue"} <= seen.keys():
        if has_white and "white" not in seen:
            return None
        return _eight_bits(*(_channel(grammar, name, seen) for name in ("red", "green", "blue")))
    if {"hue", "saturation", "value"} <= seen.keys():
        hsv = [_part(grammar, name, seen) for name in ("hue", "saturation", "value")]
        return _eight_bits(*colorsys.hsv_to_rgb(*hsv))
    return None


def _part(grammar: DialectGrammar, name: str, seen: Mapping[str, object]) -> float:
    return decode_scale(SCALES[name](grammar), seen[name])


def _channel(grammar: DialectGrammar, name: str, seen: Mapping[str, object]) -> float:
    """A channel with its share of the white; both may have been rounded up."""
    part = _part(grammar, name, seen)
    if "white" not in seen:
        return part
    whole = part + _part(grammar, "white", seen)
    if whole > 1 + _step(SCALES[name](grammar)) + _step(grammar.white):
        raise CodecError({name: seen[name], "white": seen["white"]}, "a channel with its white")
    return min(whole, 1.0)


def _step(codec: ScaleCodec) -> float:
    return 10.0**-codec.digits / abs(codec.high - codec.low)


def _eight_bits(red: float, green: float, blue: float) -> Colour:
    return int(red * 255 + 0.5), int(green * 255 + 0.5), int(blue * 255 + 0.5)


def _effect(grammar: DialectGrammar, seen: Mapping[str, object]) -> Decoded:
    """The effect, and the rate where only one is meant by what was read."""
    if "effect" not in seen:
        return {}
    found = [
        (effect, native.period_ms)
        for effect, natives in grammar.effects.items()
        for native in natives
        if _names_effect(seen["effect"], effect, native.name, native.period_ms)
    ]
    if len({effect for effect, _ in found}) != 1:
        return {}
    values: Decoded = {"effect": found[0][0]}
    rates = {rate for _, period in found for rate in PERIOD_BAND_MS if _in_band(rate, period)}
    if len(rates) == 1:
        values["rate"] = rates.pop()
    return values


def _names_effect(seen: object, effect: str, name: Json, period_ms: int | None) -> bool:
    told = {"effect": effect, "period_ms": period_ms}
    return same_json(seen, told) if isinstance(seen, dict) else same_json(seen, name)


def _in_band(rate: str, period_ms: int | None) -> bool:
    least, most = PERIOD_BAND_MS[rate]  # type: ignore[index]
    return period_ms is not None and least <= period_ms <= most
