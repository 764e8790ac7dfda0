"""Two-way codecs: our values as a controller writes them, and what it says back as ours.

``encode`` turns a value into JSON, ``decode`` a JSON value back; each pair is held together by a
round trip in the tests. ``decode`` raises ``CodecError`` for what the codec cannot have written
(outside its range: refused, never clamped). ``parts_of_colour`` and ``part_of_scale`` give the
numbers that a tolerance is counted in.
"""

from __future__ import annotations

import colorsys
import json
import math
import re
from typing import Any, Final, TypeAlias

from bridge.facts.places import ABSENT
from bridge.lights.dialect.grammar import (
    ColourCodec,
    CountCodec,
    FrameCodec,
    Rounding,
    ScaleCodec,
    TimeCodec,
    WordCodec,
)
from bridge.scenes.scene import Colour

#: What ``json.loads`` gives and ``json.dumps`` takes.
Json: TypeAlias = Any

_NUMBER: Final = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
_HEX: Final = re.compile(r"[0-9A-Fa-f]+")
#: What may stand between the numbers of a function of CSS.
CSS_BETWEEN: Final = re.compile(r"\s*[,\s]\s*")
_AND: Final = CSS_BETWEEN.pattern
_HSL: Final = re.compile(
    rf"hsl\(\s*([0-9.]{{1,8}})(?:deg)?{_AND}([0-9.]{{1,8}})%{_AND}([0-9.]{{1,8}})%\s*\)"
)
#: So many that every 8-bit colour comes back as it was.
_HSL_DIGITS: Final = 2
_CSS: Final = re.compile(rf"rgb\(\s*(\d{{1,3}}){_AND}(\d{{1,3}}){_AND}(\d{{1,3}})\s*\)")
#: Decimals kept before a rounding: 0.29 * 100 is 28.999999999999996 and means 29.
_NOISE_DIGITS: Final = 6


class CodecError(ValueError):
    """A value that the codec cannot have written."""

    def __init__(self, raw: Json, expected: str) -> None:
        super().__init__(f"{shown(raw)} is not {expected}")


def shown(raw: Json) -> str:
    """A JSON value for a sentence: as JSON, cut where it is long."""
    if raw is ABSENT:
        return "nothing"
    text = json.dumps(raw, ensure_ascii=False)
    return text if len(text) <= 60 else f"{text[:57]}..."


def same_json(one: Json, other: Json) -> bool:
    """JSON equality: ``true`` is not 1, while 1 and 1.0 are one number."""
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)


def round_to(number: float, rounding: Rounding, digits: int) -> float | int:
    """One rounding; whole numbers stay ints, so that they are written without a point."""
    shifted = round(number * 10.0**digits, _NOISE_DIGITS)
    if rounding == "down":
        whole = math.floor(shifted)
    elif rounding == "up":
        whole = math.ceil(shifted)
    else:
        whole = math.floor(shifted + 0.5)
    return whole / 10.0**digits if digits else whole


def number_of(raw: Json) -> float:
    """A number, or a text that is one; texts are read where a controller answers in them."""
    if isinstance(raw, str) and _NUMBER.fullmatch(raw):
        return float(raw)
    if isinstance(raw, int | float) and not isinstance(raw, bool) and math.isfinite(raw):
        return raw
    raise CodecError(raw, "a number")


# Scales -------------------------------------------------------------------------------------------


def encode_scale(codec: ScaleCodec, proportion: float, *, lit: bool = True) -> Json:
    """A proportion 0..1 on the scale; a lit look gets at least ``least``."""
    number = codec.low + proportion * (codec.high - codec.low)
    raw = round_to(number, codec.rounding, codec.digits)
    if lit and codec.least is not None and _below(codec, raw, codec.least):
        raw = round_to(codec.least, "nearest", codec.digits)
    return _written(codec, raw)


def encode_turn(codec: ScaleCodec, proportion: float) -> Json:
    """A hue, 0..1 of a turn: what rounds to a whole turn is no turn, which every scale has."""
    number = codec.low + proportion * (codec.high - codec.low)
    raw = round_to(number, codec.rounding, codec.digits)
    if raw == codec.high:
        raw = round_to(codec.low, "nearest", codec.digits)
    return _written(codec, raw)


def decode_scale(codec: ScaleCodec, raw: Json) -> float:
    """The proportion 0..1 that was written."""
    number = part_of_scale(codec, raw)
    low, high = sorted((codec.low, codec.high))
    if not low <= number <= high:
        raise CodecError(raw, f"a number from {_text(low)} to {_text(high)}")
    return (number - codec.low) / (codec.high - codec.low)


def part_of_scale(codec: ScaleCodec, raw: Json) -> float:
    """The number in the codec's own unit, whatever stands round it."""
    if isinstance(raw, str):
        if not (raw.startswith(codec.before) and raw.endswith(codec.after)):
            raise CodecError(raw, f"a text like {codec.before}{_text(codec.high)}{codec.after}")
        return number_of(raw.removeprefix(codec.before).removesuffix(codec.after))
    return number_of(raw)


def least_proportion(codec: ScaleCodec) -> float:
    """The least level of any lit look, as a proportion."""
    if codec.least is None:
        return 0.0
    return (codec.least - codec.low) / (codec.high - codec.low)


def _below(codec: ScaleCodec, raw: float, least: float) -> bool:
    return raw < least if codec.high > codec.low else raw > least


def _written(codec: ScaleCodec, raw: float) -> Json:
    if codec.written == "text" or codec.before or codec.after:
        return f"{codec.before}{_text(raw)}{codec.after}"
    return raw


def _text(number: float) -> str:
    return str(int(number)) if float(number).is_integer() else repr(number)


# Colours ------------------------------------------------------------------------------------------


def encode_colour(
    codec: ColourCodec, colour: Colour, factor: float = 1.0, rounding: Rounding = "nearest"
) -> Json:
    """A colour, times ``factor`` where the level is folded into it; rounded once."""
    numbers = _scaled(codec, colour, factor, rounding)
    if codec.form == "object":
        return dict(zip(codec.keys, _with_white(codec, numbers), strict=True))
    if codec.form == "css":
        return _css(codec, colour, factor, numbers)
    ordered = _ordered(codec, numbers)
    if codec.form == "list":
        return list(ordered)
    packed = 0
    for number in ordered:
        packed = packed << 8 | int(number)
    if codec.form == "integer":
        return packed
    digits = f"{packed:0{2 * len(codec.order)}x}"
    return codec.mark + (digits.upper() if codec.case == "upper" else digits) + codec.after


def decode_colour(codec: ColourCodec, raw: Json) -> Colour:
    """The 8-bit colour that was written."""
    most = _most(codec)
    red, green, blue = parts_of_colour(codec, raw)
    return (_eight_bits(red, most), _eight_bits(green, most), _eight_bits(blue, most))


def parts_of_colour(codec: ColourCodec, raw: Json) -> tuple[float, float, float]:
    """Red, green and blue in the codec's own unit."""
    if codec.form == "object":
        numbers = _members(codec, raw)
    elif codec.form == "list":
        numbers = _elements(codec, raw)
    elif codec.form == "css":
        numbers = _hsl_numbers(raw) if codec.function == "hsl" else _css_numbers(raw)
    else:
        numbers = _unpacked(codec, raw)
    most = _most(codec)
    if not all(0 <= number <= most for number in numbers):
        raise CodecError(raw, f"a colour with numbers from 0 to {most}")
    return numbers


def _most(codec: ColourCodec) -> int:
    """The full value of a channel; hex, css and integer are 8 bits by their form."""
    return codec.to if codec.form in {"list", "object"} else 255


def _scaled(
    codec: ColourCodec, colour: Colour, factor: float, rounding: Rounding
) -> tuple[float, float, float]:
    most = _most(codec)
    digits = codec.digits if most == 1 else 0
    red, green, blue = (
        round_to(channel * factor * most / 255, rounding, digits) for channel in colour
    )
    return red, green, blue


def _eight_bits(number: float, most: int) -> int:
    return int(round_to(number * 255 / most, "nearest", 0))


def _has_white(codec: ColourCodec) -> bool:
    return len(codec.keys) > 3 if codec.form == "object" else "W" in codec.order


def _with_white(codec: ColourCodec, rgb: tuple[float, float, float]) -> tuple[float, ...]:
    """Red, green, blue and, where there is one, white: what the three have in common, or nought."""
    if not _has_white(codec):
        return rgb
    white = min(rgb) if codec.white == "extract" else 0
    digits = codec.digits if _most(codec) == 1 else 0
    return (*(round_to(number - white, "nearest", digits) for number in rgb), white)


def _without_white(numbers: tuple[float, ...]) -> tuple[float, float, float]:
    white = numbers[3] if len(numbers) > 3 else 0
    red, green, blue = (round(number + white, _NOISE_DIGITS) for number in numbers[:3])
    return red, green, blue


def _ordered(codec: ColourCodec, rgb: tuple[float, float, float]) -> tuple[float, ...]:
    channels = _with_white(codec, rgb)
    return tuple(channels["RGBW".index(channel)] for channel in codec.order)


def _from_order(codec: ColourCodec, numbers: tuple[float, ...]) -> tuple[float, float, float]:
    channels = "RGBW" if "W" in codec.order else "RGB"
    return _without_white(tuple(numbers[codec.order.index(channel)] for channel in channels))


def _members(codec: ColourCodec, raw: Json) -> tuple[float, float, float]:
    if not isinstance(raw, dict) or not all(key in raw for key in codec.keys):
        raise CodecError(raw, f"an object with {', '.join(codec.keys)}")
    return _without_white(tuple(number_of(raw[key]) for key in codec.keys))


def _elements(codec: ColourCodec, raw: Json) -> tuple[float, float, float]:
    if not isinstance(raw, list) or len(raw) != len(codec.order):
        raise CodecError(raw, f"a list of {len(codec.order)} numbers")
    return _from_order(codec, tuple(number_of(element) for element in raw))


def _css_numbers(raw: Json) -> tuple[float, float, float]:
    found = _CSS.fullmatch(raw.strip().lower()) if isinstance(raw, str) else None
    if found is None:
        raise CodecError(raw, "a colour like rgb(0, 128, 255)")
    red, green, blue = (int(group) for group in found.groups())
    return red, green, blue


def _css(
    codec: ColourCodec, colour: Colour, factor: float, numbers: tuple[float, float, float]
) -> str:
    if codec.function == "rgb":
        return f"rgb({codec.between.join(map(str, numbers))})"
    # The level is folded in before the one rounding, as with every other form.
    red, green, blue = (channel * factor / 255 for channel in colour)
    hue, light, saturation = colorsys.rgb_to_hls(red, green, blue)
    scaled = (hue * 360, saturation * 100, light * 100)
    parts = [_text(round_to(part, "nearest", _HSL_DIGITS)) for part in scaled]
    return f"hsl({codec.between.join((parts[0], parts[1] + '%', parts[2] + '%'))})"


def _hsl_numbers(raw: Json) -> tuple[float, float, float]:
    found = _HSL.fullmatch(raw.strip().lower()) if isinstance(raw, str) else None
    if found is None:
        raise CodecError(raw, "a colour like hsl(210, 50%, 40%)")
    hue, saturation, light = (float(group) for group in found.groups())
    if saturation > 100 or light > 100:
        raise CodecError(raw, "a colour with per cent up to 100")
    red, green, blue = colorsys.hls_to_rgb(hue % 360 / 360, light / 100, saturation / 100)
    return round(red * 255, 2), round(green * 255, 2), round(blue * 255, 2)


def _unpacked(codec: ColourCodec, raw: Json) -> tuple[float, float, float]:
    count = len(codec.order)
    most = (1 << 8 * count) - 1
    if codec.form == "integer":
        number = number_of(raw)
        if not (float(number).is_integer() and 0 <= number <= most):
            raise CodecError(raw, f"a whole number from 0 to {most}")
        packed = int(number)
    else:
        packed = _hex_number(codec, raw)
    shifts = range(8 * (count - 1), -8, -8)
    return _from_order(codec, tuple(packed >> shift & 255 for shift in shifts))


def _hex_number(codec: ColourCodec, raw: Json) -> int:
    # Both cases and a missing mark are read: a controller may answer otherwise than it is told.
    digits = raw.removeprefix(codec.mark).removesuffix(codec.after) if isinstance(raw, str) else ""
    if len(digits) != 2 * len(codec.order) or not _HEX.fullmatch(digits):
        example = "00ff7f" if len(codec.order) == 3 else "00ff7f00"
        raise CodecError(raw, f"a colour like {codec.mark}{example}{codec.after}")
    return int(digits, 16)


# Painted frames -----------------------------------------------------------------------------------


def encode_frame(codec: FrameCodec, colour: ColourCodec, frame: bytes) -> Json:
    """A frame as a list of colours, or as one text; ``colour_at`` is for reading only."""
    colours = [encode_colour(colour, (*frame[at : at + 3],)) for at in range(0, len(frame), 3)]
    return codec.between.join(map(str, colours)) if codec.form == "text" else colours


def decode_frame(codec: FrameCodec, colour: ColourCodec, raw: Json) -> bytes:
    """The frame that was painted, 3 bytes a pixel."""
    elements = _pieces(codec, colour, raw) if codec.form == "text" else raw
    if not isinstance(elements, list):
        raise CodecError(raw, "a list of colours")
    at = codec.colour_at
    return b"".join(
        bytes(decode_colour(colour, element if at is None else at.find(element)))
        for element in elements
    )


def _pieces(codec: FrameCodec, colour: ColourCodec, raw: Json) -> list[str]:
    if not isinstance(raw, str):
        raise CodecError(raw, "a text of colours")
    if codec.between:
        return raw.split(codec.between) if raw else []
    width = len(encode_colour(colour, (0, 0, 0)))
    if len(raw) % width:
        raise CodecError(raw, f"a text of colours, {width} characters each")
    return [raw[start : start + width] for start in range(0, len(raw), width)]


# Times --------------------------------------------------------------------------------------------


def encode_time(codec: TimeCodec, milliseconds: int) -> int:
    """A length of time in the codec's unit: never less than it is, as a look must not end early."""
    return -(-milliseconds // codec.unit_ms)


def decode_time(codec: TimeCodec, raw: Json) -> int:
    """Milliseconds, to one unit."""
    number = number_of(raw)
    if number < 0 or not float(number).is_integer():
        raise CodecError(raw, "a whole number")
    return int(number) * codec.unit_ms


def told_ms(codec: TimeCodec, milliseconds: int) -> int:
    """The length of time that is told for one that is meant."""
    return encode_time(codec, milliseconds) * codec.unit_ms


# Counts and flags ---------------------------------------------------------------------------------


def encode_count(codec: CountCodec, count: int | str) -> Json:
    """A number counted from ``start``, or the controller's own name as it is, with its affixes."""
    raw = count + codec.start if isinstance(count, int) else count
    if codec.written == "text" or codec.before or codec.after:
        return f"{codec.before}{raw}{codec.after}"
    return raw


def decode_count(codec: CountCodec, raw: Json) -> int | str:
    """The number counted from 0, or the name."""
    if isinstance(raw, str):
        body = raw.removeprefix(codec.before).removesuffix(codec.after)
        if raw != f"{codec.before}{body}{codec.after}":
            raise CodecError(raw, f"a text like {codec.before}1{codec.after}")
        if not _NUMBER.fullmatch(body):
            return body
        raw = int(body) if body.lstrip("-").isdigit() else body
    number = number_of(raw)
    if not float(number).is_integer():
        raise CodecError(raw, "a whole number")
    return int(number) - codec.start


def encode_word(codec: WordCodec, lit: bool) -> Json:  # noqa: FBT001 - the value to write
    """The on-flag."""
    return codec.lit if lit else codec.dark


def decode_word(codec: WordCodec, raw: Json) -> bool:
    """Whether the on-flag says lit."""
    if same_json(raw, codec.lit):
        return True
    if same_json(raw, codec.dark):
        return False
    raise CodecError(raw, f"{shown(codec.lit)} or {shown(codec.dark)}")
