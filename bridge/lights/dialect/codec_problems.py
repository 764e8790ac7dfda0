"""What is wrong with the codecs of a dialect: what they say nothing by, or cannot read back."""

from __future__ import annotations

from collections.abc import Iterator
from string import digits, hexdigits
from typing import Final

from bridge.lights.dialect.codecs import CSS_BETWEEN
from bridge.lights.dialect.grammar import ColourCodec, DialectGrammar, FrameCodec, ScaleCodec
from bridge.lights.dialect.template_problems import Problem

_SCALES: Final = ("level", "hue", "saturation", "value", "red", "green", "blue", "white")
#: Forms that name their own channels.
_UNORDERED: Final = {"css": "css writes red, green, blue", "object": "an object has keys"}


def codec_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    """In the order of the file."""
    for name in _SCALES:
        for key, sentence in _scale_problems(getattr(grammar, name)):
            yield ("codecs", name, key), sentence
    for name, colour in (("colour", grammar.colour), ("pixel_colour", grammar.pixel_colour)):
        if colour is not None:
            for key, sentence in _colour_problems(colour):
                yield ("codecs", name, key), sentence
    for key, sentence in _frame_problems(grammar.frame, grammar.pixel_colour or grammar.colour):
        yield ("codecs", "frame", key), sentence
    if grammar.on.lit == grammar.on.dark:
        yield ("codecs", "on"), "lit and dark are alike, so the flag says nothing"


def _scale_problems(scale: ScaleCodec) -> Iterator[tuple[str, str]]:
    low, high = sorted((scale.low, scale.high))
    span = f"{scale.low:g} to {scale.high:g}"
    if low == high:
        yield "to", f"goes from {span}, so it says nothing; expected two unlike numbers"
    elif scale.digits == 0 and high - low <= 1:
        yield "digits", f"0 with {span} leaves only its ends; expected 2 or more"
    if scale.least is not None and not low <= scale.least <= high:
        yield "least", f"{scale.least:g} lies outside {span}"


def _colour_problems(colour: ColourCodec) -> Iterator[tuple[str, str]]:
    if colour.form == "object" and len(set(colour.keys)) < len(colour.keys):
        yield "keys", f"{', '.join(colour.keys)} are not unlike keys"
    if sorted(colour.order.replace("W", "")) != ["B", "G", "R"] or colour.order.count("W") > 1:
        why = "names no order of channels; expected R, G, B and perhaps W, each once"
        yield "order", f"'{colour.order}' {why}"
    elif colour.form in _UNORDERED and colour.order != "RGB":
        yield "order", f"is for hex, list and integer; {_UNORDERED[colour.form]}"
    elif colour.white == "extract" and not _has_white(colour):
        what = "a fourth key" if colour.form == "object" else "a W in order, such as RGBW"
        expected = "dark" if colour.form == "css" else what
        yield "white", f"extract wants a channel for it, and there is none; expected {expected}"
    if colour.form in {"list", "object"} and colour.to == 1 and colour.digits == 0:
        yield "digits", "0 leaves only nought and one; expected more digits"
    if colour.form == "css" and not CSS_BETWEEN.fullmatch(colour.between):
        why = f"'{colour.between}' between the numbers could not be read back"
        yield "between", f"{why}; expected a comma, a blank, or both"


def _has_white(colour: ColourCodec) -> bool:
    if colour.form == "object":
        return len(colour.keys) > 3
    return colour.form != "css" and "W" in colour.order


def _frame_problems(frame: FrameCodec, colour: ColourCodec) -> Iterator[tuple[str, str]]:
    """One text of colours must be taken apart again where one ends and the next begins."""
    if frame.form != "text":
        return
    form = colour.form
    if form in {"list", "object"}:
        yield "form", f"text holds no colours of the form {form}; expected list, or hex colours"
    elif not frame.between:
        if form != "hex":
            why = f"text without between cannot be taken apart, as {form} colours differ in length"
            yield "form", f"{why}; expected between: TEXT beside it, or hex colours"
    elif set(frame.between) <= _letters(colour):
        why = f"'{frame.between}' may stand within a colour too"
        yield "between", f"{why}; expected a text with something that no colour holds"


def _letters(colour: ColourCodec) -> set[str]:
    """What the text of a colour may be made of, as it is read."""
    if colour.form == "css":
        return {*"rgbhsl().%", *digits, *colour.between}
    return {*digits} if colour.form == "integer" else {*colour.mark, *hexdigits, *colour.after}
