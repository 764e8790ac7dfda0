"""Each mistake in a dialect is named once, at its place in the file, with what was expected."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import (
    ColourCodec,
    DialectGrammar,
    IdentifyTemplate,
    NativeEffect,
    ReplyCheck,
    RequestTemplate,
    Told,
    WordCodec,
)
from bridge.lights.dialect.problems import problems_of
from tests.lights.dialect.building import EFFECTS, PAINT, SHOW, grammar_of, read_of, values_of

FOLDED = ColourCodec(level="folded")
EACH = {"each": "segment", "put": {"c": "{colour}", "l": "{level}", "e": "{effect}"}}


def show_of(body: Any, **changes: Any) -> RequestTemplate:  # noqa: ANN401
    """A show with that body."""
    return RequestTemplate("PUT", "/x", body=body, **changes)


BARE = {"c": "{colour}", "l": "{level}", "e": "{effect}"}
THEN = RequestTemplate("POST", "/up")
LASTS = (
    "{lasts} tells for how long a look stays, which nothing here says;"
    " expected lasts: TIME beside show"
)

PROBLEMS: list[tuple[DialectGrammar, tuple[str | int, ...], str]] = [
    (grammar_of(show=None, paint=None), (), "shows nothing; expected a show or a paint request"),
    # lasts
    (
        grammar_of(show=show_of({**BARE, "stay": "{lasts}"})),
        ("show", "body", "stay"),
        LASTS,
    ),
    (
        grammar_of(show=replace(SHOW, then=RequestTemplate("PUT", "/{lasts}", reply=SHOW.reply))),
        ("show", "then", "path"),
        LASTS,
    ),
    (
        grammar_of(paint=replace(PAINT, then=RequestTemplate("PUT", "/", query={"s": "{lasts}"}))),
        ("paint", "then", "query", "s"),
        LASTS,
    ),
    (
        grammar_of(
            effects=EFFECTS | {"flash": (NativeEffect("beat", 640, adds={"s": "{lasts}"}),)}
        ),
        ("effects", "flash", "adds", "s"),
        LASTS,
    ),
    # show
    (
        grammar_of(show=replace(SHOW, path="/bars/{numbr}")),
        ("show", "path"),
        "'numbr' is no name that can stand here; did you mean 'number'?",
    ),
    (
        grammar_of(show=replace(SHOW, query={"q": "{color}"})),
        ("show", "query", "q"),
        "'color' is no name that can stand here; did you mean 'colour'?",
    ),
    (
        grammar_of(show=show_of(BARE | {"x": [{"y": "{"}]})),
        ("show", "body", "x", 0, "y"),
        "'{' has a lone brace at character 1",
    ),
    (
        grammar_of(show=show_of({"l": "{level}", "e": "{effect}", "r": "{red}", "g": "{green}"})),
        ("show",),
        "has no colour; expected {colour}, or {red}, {green} and {blue},",
    ),
    (
        grammar_of(show=show_of(BARE | {"w": "{white}"})),
        ("show",),
        "has {white} without {red}, {green} and {blue}; expected all four, and no {colour}",
    ),
    (
        grammar_of(show=show_of({"c": "{colour}", "e": "{effect}"})),
        ("show",),
        "has no place for the level; expected {level}, or a colour with level: folded",
    ),
    (
        grammar_of(colour=FOLDED),
        ("show",),
        "has the level twice: as {level} and folded into the colour",
    ),
    (
        grammar_of(show=show_of({"a": EACH, "b": "{effect}"})),
        ("show", "body", "b"),
        "{effect} stands outside each: segment, so it is nobody's",
    ),
    (
        grammar_of(show=show_of(BARE | {"x": {"each": "range", "put": 1}})),
        ("show", "body", "x"),
        "each: range is for paint; show repeats segments",
    ),
    (
        grammar_of(show=show_of(EACH | {"most": 3})),
        ("show", "body"),
        "most is for ranges and pixels; the body's limit counts",
    ),
    (
        grammar_of(show=replace(SHOW, sends="all")),
        ("show", "sends"),
        "all wants each: segment here, and a read with a list",
    ),
    (
        grammar_of(show=show_of(EACH, sends="all"), read=None),
        ("show", "sends"),
        "all wants each: segment here, and a read with a list",
    ),
    (
        grammar_of(colour=ColourCodec("list"), show=show_of(BARE | {"c": "c {colour}"})),
        ("show", "body", "c"),
        "{colour} is a list or an object and cannot stand in a text",
    ),
    (
        grammar_of(colour=ColourCodec("object"), show=replace(SHOW, query={"q": "{colour}"})),
        ("show", "query", "q"),
        "{colour} is a list or an object and cannot stand in a text",
    ),
    (
        grammar_of(show=show_of(["{colour}", "{level}", "{effect}"], form="form")),
        ("show", "body"),
        "is sent as a form, so it must be a mapping",
    ),
    (
        grammar_of(show=replace(SHOW, then=replace(THEN, path="/{pixl}", reply=SHOW.reply))),
        ("show", "then", "path"),
        "'pixl' is no name that can stand here",
    ),
    (
        grammar_of(show=replace(SHOW, then=replace(THEN, then=THEN))),
        ("show", "then"),
        "has a then of its own; only one request can follow",
    ),
    (
        grammar_of(show=replace(SHOW, then=replace(THEN, accepts=(303,)))),
        ("show", "then"),
        "is judged as the request before it; state the same reply and accepts",
    ),
    # paint
    (
        grammar_of(paint=RequestTemplate("PUT", "/x", body={"lit": "{on}"})),
        ("paint",),
        "paints nothing; expected each: pixel or each: range in it",
    ),
    (
        grammar_of(
            paint=RequestTemplate(
                "PUT",
                "/x",
                body=[{"each": "pixel", "put": "{colour}"}, {"each": "range", "put": "{colour}"}],
            )
        ),
        ("paint",),
        "repeats pixels and ranges; expected one of them",
    ),
    (
        grammar_of(
            paint=RequestTemplate(
                "PUT", "/", body={"each": "pixel", "put": ["{colour}", "{white}"]}
            )
        ),
        ("paint",),
        "has {white} without {red}, {green} and {blue}; expected all four, and no {colour}",
    ),
    (
        grammar_of(paint=replace(PAINT, query={"c": "{colour}"})),
        ("paint", "query", "c"),
        "{colour} stands outside each, where there is no single colour",
    ),
    (
        grammar_of(paint=replace(PAINT, path="/{pixel}")),
        ("paint", "path"),
        "{pixel} stands outside each: pixel",
    ),
    (
        grammar_of(paint=replace(PAINT, path="/{effect}")),
        ("paint", "path"),
        "'effect' is no name that can stand here",
    ),
    (
        grammar_of(paint=replace(PAINT, sends="all")),
        ("paint", "sends"),
        "all is for show; a painted frame is always a whole segment's",
    ),
    (
        grammar_of(
            pixel_colour=ColourCodec("list"),
            paint=RequestTemplate("PUT", "/", body={"each": "pixel", "put": "c{colour}"}),
        ),
        ("paint", "body", "put"),
        "{colour} is a list or an object and cannot stand in a text",
    ),
    # read
    (
        grammar_of(read=read_of(request=RequestTemplate("GET", "/{colour}"))),
        ("read", "path"),
        "'colour' is no name that can stand here; expected one of first, last,",
    ),
    (
        grammar_of(read=read_of(match=((compile_place("/bar"), "{nummer}"),))),
        ("read", "match", "/bar"),
        "'nummer' is no name that can stand here; did you mean 'number'?",
    ),
    (
        grammar_of(read=read_of(each=None, match=(), keyed="{key}")),
        ("read", "keyed", "key"),
        "'key' is no name that can stand here",
    ),
    (
        grammar_of(read=read_of(match=())),
        ("read", "list"),
        "has no match, so no item is anybody's; say which place names a segment",
    ),
    (
        grammar_of(read=read_of(each=None)),
        ("read", "match"),
        "is for the items of a list; expected list: PLACE beside it",
    ),
    (grammar_of(read=read_of(keyed="{number}")), ("read", "keyed"), "cannot stand beside list"),
    (
        grammar_of(read=read_of(values=values_of({"/c": "color"}))),
        ("read", "values", "/c"),
        "'color' is no name that can stand here; did you mean 'colour'?",
    ),
    (
        grammar_of(
            read=read_of(values=values_of({"/e": "effect"})),
            effects=EFFECTS
            | {"steady": (NativeEffect("plain", told=Told(compile_place("/plain"))),)},
        ),
        ("read", "values", "/e"),
        "effects are told otherwise (told), so none is read here",
    ),
    (
        grammar_of(read=None, read_paint=read_of(values=values_of({"/c": "pixels"}))),
        ("read_paint",),
        "is for painted pixels beside a read; expected paint and read too",
    ),
    # identify
    (
        grammar_of(identify=IdentifyTemplate(RequestTemplate("GET", "/who"))),
        ("identify",),
        "asks for nothing; expected identity: PLACE, pixels: PLACE, or both",
    ),
    (
        grammar_of(
            identify=IdentifyTemplate(RequestTemplate("GET", "/{number}"), compile_place("/n"))
        ),
        ("identify", "path"),
        "'number' cannot stand here; this request is about no segment",
    ),
]


@pytest.mark.parametrize(("grammar", "path", "sentence"), PROBLEMS)
def test_a_bad_dialect_has_its_sentence(
    grammar: DialectGrammar, path: tuple[str | int, ...], sentence: str
) -> None:
    """One mistake, one problem, at the place where it was made."""
    (found,) = problems_of(grammar)
    assert found[0] == path
    assert found[1].startswith(sentence)
    assert not found[1].endswith(".")


def test_a_name_that_is_read_twice_is_named_at_both() -> None:
    """Either may be the one that was not meant."""
    read = read_of(values=values_of({"/a": "level", "/b": "level"}))
    assert problems_of(grammar_of(read=read)) == [
        (("read", "values", "/a"), "'level' is read at more than one place"),
        (("read", "values", "/b"), "'level' is read at more than one place"),
    ]


def test_every_problem_comes_at_once() -> None:
    """A file with three mistakes has three sentences."""
    grammar = grammar_of(
        on=WordCodec(1, 1),
        show=replace(SHOW, path="/{a}"),
        identify=IdentifyTemplate(RequestTemplate("GET", "/who")),
    )
    assert [path[0] for path, _ in problems_of(grammar)] == ["codecs", "show", "identify"]


SOUND = [
    grammar_of(),
    grammar_of(paint=None, read=None, identify=None),
    grammar_of(show=None, effects={}),
    grammar_of(colour=FOLDED, show=show_of({"c": "{colour}", "e": "{effect}"})),
    grammar_of(show=show_of(["{hue}", "{saturation}", "{value}", "{effect}"])),
    grammar_of(show=show_of(["{red}", "{green}", "{blue}", "{effect}"])),
    grammar_of(show=show_of(["{red}", "{green}", "{blue}", "{white}", "{effect}"])),
    grammar_of(effects=EFFECTS, show=show_of(EACH, sends="all")),
    grammar_of(show=replace(SHOW, then=replace(THEN, reply=SHOW.reply))),
    # A request that follows may be the one that tells how long the look stays.
    grammar_of(
        show=replace(SHOW, then=replace(THEN, query={"s": "{lasts}"}, reply=SHOW.reply)),
        lasts_ms=60_000,
    ),
    grammar_of(read=read_of(must=(ReplyCheck(compile_place("/main"), 250),))),
]


@pytest.mark.parametrize("grammar", SOUND)
def test_a_sound_dialect_has_no_problem(grammar: DialectGrammar) -> None:
    """What is right is left alone."""
    assert problems_of(grammar) == []
