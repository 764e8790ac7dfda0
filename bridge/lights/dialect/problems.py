"""What is wrong with a dialect: every problem at once, each with its path in the dialect's file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from bridge.lights.dialect.codec_problems import codec_problems
from bridge.lights.dialect.effect_problems import effect_problems
from bridge.lights.dialect.grammar import DialectGrammar, ReadTemplate, RequestTemplate
from bridge.lights.dialect.naming import LIGHT_NAMES, PIXEL, TIME_NAMES
from bridge.lights.dialect.request import CompiledRequest
from bridge.lights.dialect.showing import shown_names
from bridge.lights.dialect.stored_problems import stored_problems
from bridge.lights.dialect.template_problems import (
    HSV,
    PLACES,
    RGB,
    Problem,
    item_problems,
    template_problems,
    unknown_name,
    white_problems,
)
from bridge.lights.dialect.templates import Compiled, Path, Use, compile_template

_LIGHTS: Final = frozenset(LIGHT_NAMES)
_TIMES: Final = frozenset(TIME_NAMES)
#: What may stand outside the repetition of a painted frame: the whole stretch is lit or not.
_FRAME_NAMES: Final = PLACES | {"on", "level"} | _TIMES
_PIXEL_NAMES: Final = PLACES | (_LIGHTS - {"effect"}) | _TIMES
_PIXELS: Final = "pixels"


def problems_of(grammar: DialectGrammar) -> list[Problem]:
    """Every problem of the dialect, in the order of its file."""
    if grammar.show is None and grammar.paint is None:
        return [((), "shows nothing; expected a show or a paint request")]
    return [
        *codec_problems(grammar),
        *effect_problems(grammar),
        *_show_problems(grammar),
        *_paint_problems(grammar),
        *_read_problems(grammar, "read", grammar.read),
        *_read_problems(grammar, "read_paint", grammar.read_paint),
        *_identify_problems(grammar),
        *stored_problems(grammar),
        *_lasts_problems(grammar),
    ]


# Requests ----------------------------------------------------------------------------------------


def _show_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    if grammar.show is None:
        return
    request = CompiledRequest(grammar.show)
    batch = request.repeats_each("segment")
    for keys, part in request.parts:
        at = ("show", *keys)
        yield from template_problems(at, part, PLACES | _LIGHTS | _TIMES)
        for use in part.uses if batch else ():
            if "segment" not in use.inside:
                yield (
                    (*at, *use.at),
                    f"{{{use.name}}} stands outside each: segment, so it is nobody's",
                )
        for repeat in part.repeats:
            if repeat.each != "segment":
                yield (*at, *repeat.at), f"each: {repeat.each} is for paint; show repeats segments"
            elif repeat.most is not None:
                yield (*at, *repeat.at), "most is for ranges and pixels; the body's limit counts"
    yield from _request_problems(grammar, "show", grammar.show, PLACES | _LIGHTS | _TIMES)
    yield from _light_problems(grammar, grammar.show)
    if grammar.show.sends == "all" and not (batch and grammar.read and grammar.read.each):
        yield ("show", "sends"), "all wants each: segment here, and a read with a list"


def _light_problems(grammar: DialectGrammar, show: RequestTemplate) -> Iterator[Problem]:
    names = shown_names(grammar, show)
    if "colour" not in names and not (names >= RGB or names >= HSV):
        components = "{red}, {green} and {blue}, or {hue}, {saturation} and {value}"
        yield ("show",), f"has no colour; expected {{colour}}, or {components}"
    yield from white_problems(("show",), names)
    folded = grammar.colour.level == "folded"
    if "level" in names and "colour" in names and folded:
        yield ("show",), "has the level twice: as {level} and folded into the colour"
    if "level" not in names and "colour" in names and not folded:
        yield (
            ("show",),
            "has no place for the level; expected {level}, or a colour with level: folded",
        )


def _paint_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    if grammar.paint is None:
        return
    request = CompiledRequest(grammar.paint)
    for keys, part in request.parts:
        at = ("paint", *keys)
        for problem, use in _misplaced(part):
            yield (*at, *use.at), problem
        yield from template_problems(at, part, _PIXEL_NAMES | {PIXEL})
    yield from white_problems(("paint",), request.names)
    if not (request.repeats_each("pixel") or request.repeats_each("range")):
        yield ("paint",), "paints nothing; expected each: pixel or each: range in it"
    elif request.repeats_each("pixel") and request.repeats_each("range"):
        yield ("paint",), "repeats pixels and ranges; expected one of them"
    yield from _request_problems(grammar, "paint", grammar.paint, _FRAME_NAMES)
    if grammar.paint.sends == "all":
        yield ("paint", "sends"), "all is for show; a painted frame is always a whole segment's"


def _misplaced(part: Compiled) -> Iterator[tuple[str, Use]]:
    for use in part.uses:
        if use.name == PIXEL and "pixel" not in use.inside:
            yield "{pixel} stands outside each: pixel", use
        elif not {"pixel", "range"} & set(use.inside) and use.name in _PIXEL_NAMES - _FRAME_NAMES:
            yield f"{{{use.name}}} stands outside each, where there is no single colour", use


def _request_problems(
    grammar: DialectGrammar, key: str, template: RequestTemplate, names: frozenset[str]
) -> Iterator[Problem]:
    """What any request can have wrong, beside its names."""
    request = CompiledRequest(template)
    for keys, part in request.parts:
        for use in part.uses:
            if not (use.alone and keys[0] == "body") and _is_structure(grammar, key, use.name):
                at = (key, *keys, *use.at)
                yield at, f"{{{use.name}}} is a list or an object and cannot stand in a text"
    if template.form == "form" and not isinstance(template.body, Mapping):
        yield (key, "body"), "is sent as a form, so it must be a mapping"
    then = template.then
    if then is None:
        return
    for keys, part in CompiledRequest(then).parts:
        yield from template_problems((key, "then", *keys), part, names)
    if then.then is not None:
        yield (key, "then"), "has a then of its own; only one request can follow"
    if (then.reply, then.accepts) not in {(None, ()), (template.reply, template.accepts)}:
        yield (key, "then"), "is judged as the request before it; state the same reply and accepts"


def _is_structure(grammar: DialectGrammar, key: str, name: str) -> bool:
    painted = grammar.pixel_colour if key == "paint" else None
    return name == "colour" and (painted or grammar.colour).form in {"list", "object"}


# Reading -----------------------------------------------------------------------------------------


def _read_problems(
    grammar: DialectGrammar, key: str, read: ReadTemplate | None
) -> Iterator[Problem]:
    if read is None:
        return
    if key == "read_paint" and (grammar.paint is None or grammar.read is None):
        yield (key,), "is for painted pixels beside a read; expected paint and read too"
    yield from item_problems((key,), read)
    yield from _value_problems(grammar, key, read)


def _value_problems(grammar: DialectGrammar, key: str, read: ReadTemplate) -> Iterator[Problem]:
    known = PLACES | _LIGHTS | {_PIXELS}
    names = [name for _, name in read.values]
    told = any(native.told for natives in grammar.effects.values() for native in natives)
    for place, name in read.values:
        at = (key, "values", place.text)
        if name not in known:
            yield at, unknown_name(name, known)
        elif names.count(name) > 1:
            yield at, f"'{name}' is read at more than one place"
        if name == "effect" and told:
            yield at, "effects are told otherwise (told), so none is read here"


def _lasts_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    """Where a look's life is told, in whichever request, it must be known."""
    if grammar.lasts_ms is not None:
        return
    for key, template in (("show", grammar.show), ("paint", grammar.paint)):
        if template is None:
            continue
        parts = [((key, *keys), part) for keys, part in CompiledRequest(template).parts]
        if template.then is not None:
            then = CompiledRequest(template.then).parts
            parts += [((key, "then", *keys), part) for keys, part in then]
        for at, part in parts:
            yield from _untold(at, part)
    for effect, natives in grammar.effects.items():
        for index, native in enumerate(natives):
            way: Path = (effect,) if len(natives) == 1 else (effect, index)
            yield from _untold(("effects", *way, "adds"), compile_template(native.adds))


def _untold(at: Path, part: Compiled) -> Iterator[Problem]:
    for use in part.uses:
        if use.name == "lasts":
            why = "{lasts} tells for how long a look stays, which nothing here says"
            yield (*at, *use.at), f"{why}; expected lasts: TIME beside show"


def _identify_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    identify = grammar.identify
    if identify is None:
        return
    for keys, part in CompiledRequest(identify.request).parts:
        yield from template_problems(("identify", *keys), part, frozenset())
    if identify.identity is None and identify.pixels is None:
        yield ("identify",), "asks for nothing; expected identity: PLACE, pixels: PLACE, or both"
