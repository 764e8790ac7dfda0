"""What was read back is compared in meaning, and every difference is named."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.comparing import Comparison, agrees, frame_agrees, is_dark
from bridge.lights.dialect.grammar import (
    ColourCodec,
    DialectGrammar,
    FrameCodec,
    NativeEffect,
    ReadTemplate,
    ReplyCheck,
    RequestTemplate,
    ScaleCodec,
    Told,
)
from bridge.lights.dialect.painting import Painter
from bridge.lights.dialect.showing import Shower
from bridge.lights.look import Native, Still
from tests.lights.dialect.building import PAINT, SHOW, WALL, grammar_of, read_of, values_of

AMBER = Native("steady", (200, 90, 30), 0.5)
SEEN = {"colour": "c85a1e", "level": 128, "effect": "plain"}


def comparison(grammar: DialectGrammar) -> Comparison:
    """The comparison of a dialect."""
    shower = None if grammar.show is None else Shower(grammar, grammar.show)
    painter = None if grammar.paint is None else Painter(grammar, grammar.paint)
    return Comparison(grammar, shower, painter)


NATIVE: list[tuple[Native, dict[str, Any], tuple[str, ...]]] = [
    (AMBER, {}, ()),
    (AMBER, {"colour": "C85A1E"}, ()),
    (AMBER, {"level": "128"}, ()),
    (AMBER, {"colour": "c85a1f"}, ("colour",)),
    (AMBER, {"colour": "amber"}, ("colour",)),
    (AMBER, {"level": 127}, ("level",)),
    (AMBER, {"level": None}, ("level",)),
    (AMBER, {"effect": "beat"}, ("effect",)),
    (AMBER, {"colour": "000000", "level": 0}, ("colour", "level")),
    (Native("flash", (200, 90, 30), 0.5), {}, ("effect",)),
    (Native("flash", (200, 90, 30), 0.5), {"effect": "beat"}, ()),
    (Native("flash", (200, 90, 30), 0.5, "slow"), {"effect": "beat"}, ("effect",)),
    (Native("flash", (200, 90, 30), 0.5, "slow"), {"effect": "toll"}, ()),
]


@pytest.mark.parametrize(("look", "changes", "unlike"), NATIVE)
def test_a_native_look_is_compared(
    look: Native, changes: dict[str, Any], unlike: tuple[str, ...]
) -> None:
    """By meaning, so that case and numbers as texts are no difference; each other one is named."""
    assert comparison(grammar_of()).native(WALL, look, SEEN | changes) == unlike


@pytest.mark.parametrize("name", ["colour", "level", "effect"])
def test_a_value_that_is_not_told_is_a_difference(name: str) -> None:
    """An answer that leaves out what the dialect says it holds proves nothing."""
    seen = {key: value for key, value in SEEN.items() if key != name}
    assert comparison(grammar_of()).native(WALL, AMBER, seen) == (name,)


def test_names_that_the_read_does_not_carry_are_not_compared() -> None:
    """A controller that reads back its colour only is compared by its colour."""
    grammar = grammar_of(read=read_of(values=values_of({"/paint": "colour"})))
    assert comparison(grammar).native(WALL, AMBER, {"colour": "c85a1e"}) == ()


def test_without_a_read_nothing_is_compared() -> None:
    """There is nothing to compare."""
    assert comparison(grammar_of(read=None)).native(WALL, AMBER, {}) == ()
    assert comparison(grammar_of(show=None)).native(WALL, AMBER, SEEN) == ()
    assert comparison(grammar_of(paint=None)).still(WALL, Still(b"abc"), {}) == ()


DARK = Native("steady", (200, 90, 30), 0.0)
DARKNESS: list[tuple[dict[str, Any], tuple[str, ...]]] = [
    ({"level": 0, "colour": "c85a1e", "effect": "plain"}, ()),
    ({"level": 0, "colour": "000000"}, ()),
    ({"level": 0}, ()),
    ({"level": 0, "effect": "none"}, ()),
    ({"level": 0, "colour": "ff0000"}, ("colour",)),
    ({"level": 3, "colour": "c85a1e"}, ("level",)),
    ({"colour": "c85a1e"}, ("level",)),
]


@pytest.mark.parametrize(("seen", "unlike"), DARKNESS)
def test_of_a_dark_look_its_darkness_counts(seen: dict[str, Any], unlike: tuple[str, ...]) -> None:
    """A board may forget colour and effect of what it does not show, but not that it is dark."""
    assert comparison(grammar_of()).native(WALL, DARK, seen) == unlike


FLAGGED = RequestTemplate("PUT", "/", body={"c": "{colour}", "l": "{level}", "on": "{on}"})
FLAGS = [
    (FLAGGED, AMBER, True, ()),
    (FLAGGED, AMBER, False, ("on",)),
    (FLAGGED, DARK, False, ()),
    (FLAGGED, DARK, True, ("on",)),
    # Where no flag is written, a lit look switched off by a person is seen all the same,
    (SHOW, AMBER, False, ("on",)),
    # and a board whose level is nought is dark whatever its flag says.
    (SHOW, DARK, True, ()),
]


@pytest.mark.parametrize(("show", "look", "lit", "unlike"), FLAGS)
def test_the_flag_is_compared(
    show: RequestTemplate, look: Native, lit: bool, unlike: tuple[str, ...]
) -> None:
    """A switch that a person turned is a difference."""
    values = values_of({"/on": "on", "/paint": "colour", "/drive": "level"})
    grammar = grammar_of(show=show, read=read_of(values=values))
    seen = {"on": lit, "colour": "c85a1e", "level": 128 if look.lit else 0}
    assert comparison(grammar).native(WALL, look, seen) == unlike


TOLERANCES = [
    ("level", 128, 130, 2.0, True),
    ("level", 128, 131, 2.0, False),
    ("level", 128, "x", 2.0, False),
    ("hue", 1, 399, 2.0, True),  # round the turn
    ("hue", 1, 398, 2.0, False),
    ("colour", [10, 20, 30], [11, 19, 31], 1.0, True),
    ("colour", [10, 20, 30], [12, 20, 30], 1.0, False),
    ("effect", 3, 4, 5.0, False),
    ("effect", 1, True, 5.0, False),
    ("on", "yes", "yes", 0.0, True),
]


@pytest.mark.parametrize(("name", "sent", "seen", "tolerance", "expected"), TOLERANCES)
def test_the_tolerance_is_in_the_numbers_own_unit(
    name: str,
    sent: Any,  # noqa: ANN401
    seen: Any,  # noqa: ANN401
    tolerance: float,
    expected: bool,
) -> None:
    """Its end counts as agreeing; words have no tolerance."""
    grammar = grammar_of(colour=ColourCodec("list"), hue=ScaleCodec(high=400))
    assert agrees(grammar, name, sent, seen, tolerance) is expected


def hue_reading(read: ReadTemplate) -> Comparison:
    """A dialect of hue, saturation and value."""
    show = RequestTemplate("PUT", "/", body=["{hue}", "{saturation}", "{value}"])
    return comparison(grammar_of(show=show, effects={}, read=read))


def test_a_grey_has_no_hue() -> None:
    """A board that keeps red, green and blue answers any hue for a grey."""
    read = read_of(values=values_of({"/h": "hue", "/s": "saturation", "/v": "value"}))
    grey = Native("steady", (255, 255, 255), 0.5)
    made = hue_reading(read)
    assert made.native(WALL, grey, {"hue": 77, "saturation": 0, "value": 50}) == ()
    assert made.native(WALL, grey, {"hue": 77, "saturation": 9, "value": 50}) == ("saturation",)
    red = Native("steady", (255, 0, 0), 1.0)
    assert made.native(WALL, red, {"hue": 77, "saturation": 100, "value": 100}) == ("hue",)


FOUR = ("red", "green", "blue", "white")


@pytest.mark.parametrize(
    ("white", "seen", "unlike"),
    [
        ("{white}", (170, 60, 0, 30), ()),
        ("{white}", (200, 90, 30, 0), ("red", "green", "blue", "white")),
        ("{white}", (170, 60, 0, 31), ("white",)),
        # Where it is left dark, a white that somebody lit is a difference.
        (0, (200, 90, 30, 0), ()),
        (0, (200, 90, 30, 9), ("white",)),
    ],
)
def test_white_is_compared_as_it_was_told(
    white: object, seen: tuple[int, ...], unlike: tuple[str, ...]
) -> None:
    """With its share of the colour, or dark."""
    body = {"r": "{red}", "g": "{green}", "b": "{blue}", "w": white, "l": "{level}"}
    show = RequestTemplate("PUT", "/", body=body)
    read = read_of(values=values_of({f"/{name}": name for name in FOUR}))
    made = comparison(grammar_of(show=show, effects={}, read=read))
    assert made.native(WALL, AMBER, dict(zip(FOUR, seen, strict=True))) == unlike


def test_a_dark_white_is_dark() -> None:
    """As every other channel: a board that forgets the colour of a dark look is right."""
    body = {"r": "{red}", "g": "{green}", "b": "{blue}", "w": "{white}", "l": "{level}"}
    read = read_of(values=values_of({f"/{name}": name for name in FOUR}))
    show = RequestTemplate("PUT", "/", body=body)
    made = comparison(grammar_of(show=show, effects={}, read=read))
    assert made.native(WALL, DARK, dict.fromkeys(FOUR, 0)) == ()
    assert made.native(WALL, DARK, {**dict.fromkeys(FOUR, 0), "white": 8}) == ("white",)


def test_a_segment_that_lies_elsewhere_is_a_difference() -> None:
    """Where the answer tells first pixel or length, they are ours."""
    values = values_of({"/paint": "colour", "/from": "first", "/many": "length"})
    made = comparison(grammar_of(read=read_of(values=values)))
    assert made.native(WALL, AMBER, {"colour": "c85a1e", "first": 0, "length": "12"}) == ()
    seen = {"colour": "c85a1e", "first": 3}
    assert set(made.native(WALL, AMBER, seen)) == {"first", "length"}


@pytest.mark.parametrize(("main", "unlike"), [(250, ()), (200, ("/main",)), (None, ("/main",))])
def test_what_must_hold_is_compared(main: int | None, unlike: tuple[str, ...]) -> None:
    """A main brightness that a person turned down is a difference."""
    grammar = grammar_of(read=read_of(must=(ReplyCheck(compile_place("/main"), 250),)))
    assert comparison(grammar).native(WALL, AMBER, SEEN | {"/main": main}) == unlike


FRAME = bytes.fromhex("ff00000000000000ff")
STILLS: list[tuple[dict[str, Any], tuple[str, ...]]] = [
    ({"pixels": ["ff0000", "000000", "0000ff"]}, ()),
    ({"pixels": ["FF0000", "000000", "0000FF"]}, ()),
    ({"pixels": ["ff0000", "000000", "0000fe"]}, ("pixels",)),
    ({"pixels": ["ff0000", "000000"]}, ("pixels",)),
    ({"pixels": "ff00000000000000ff"}, ("pixels",)),
    ({}, ("pixels",)),
]


@pytest.mark.parametrize(("seen", "unlike"), STILLS)
def test_painted_pixels_are_compared(seen: dict[str, Any], unlike: tuple[str, ...]) -> None:
    """Every pixel counts; colour and effect of the segment do not, it was painted."""
    values = values_of({"/cells": "pixels", "/paint": "colour", "/motion": "effect"})
    grammar = grammar_of(read=read_of(values=values))
    assert comparison(grammar).still(WALL, Still(FRAME), seen) == unlike


def test_a_painted_segment_may_be_read_elsewhere() -> None:
    """The values of the read for painted pixels count then."""
    read_paint = read_of(values=values_of({"/cells": "pixels"}))
    made = comparison(grammar_of(read_paint=read_paint))
    assert made.still(WALL, Still(FRAME), SEEN) == ("pixels",)


def test_the_level_beside_painted_pixels_is_full() -> None:
    """Where painting writes a level, one that was turned down is a difference."""
    body = {"l": "{level}", "c": {"each": "pixel", "put": "{colour}"}}
    grammar = grammar_of(paint=RequestTemplate("PUT", "/", body=body))
    assert comparison(grammar).still(WALL, Still(FRAME), {"level": 255}) == ()
    assert comparison(grammar).still(WALL, Still(FRAME), {"level": 99}) == ("level",)
    assert comparison(grammar_of(paint=PAINT)).still(WALL, Still(FRAME), {"level": 99}) == ()


def test_a_told_effect_is_compared_with_its_period() -> None:
    """A flash by the place that tells it, a steady light by the absence of all such places."""
    told = {"effect": "flash", "period_ms": 640}
    effects = {
        "steady": (NativeEffect("plain"),),
        "flash": (NativeEffect("beat", 640, told=Told(compile_place("/ms"), 640)),),
    }
    values = values_of({"/paint": "colour"})
    made = comparison(grammar_of(effects=effects, read=read_of(values=values)))
    beat = Native("flash", (200, 90, 30), 0.5)
    assert made.native(WALL, beat, {"colour": "c85a1e", "effect": told}) == ()
    assert made.native(WALL, beat, {"colour": "c85a1e"}) == ("effect",)
    steady = Native("steady", (200, 90, 30), 0.5)
    assert made.native(WALL, steady, {"colour": "c85a1e"}) == ()
    assert made.native(WALL, steady, {"colour": "c85a1e", "effect": told}) == ("effect",)


def test_frames_in_a_text_are_compared() -> None:
    """In the codec of painted pixels."""
    grammar = grammar_of(frame=FrameCodec("text"), pixel_colour=ColourCodec(order="GRB"))
    assert frame_agrees(grammar, FRAME, {"pixels": "00ff000000000000ff"})
    assert not frame_agrees(grammar, FRAME, {"pixels": "ff00000000000000ff"})


@pytest.mark.parametrize(
    ("name", "seen", "expected"),
    [
        ("colour", "000000", True),
        ("colour", "000001", False),
        ("value", 0, True),
        ("value", 1, False),
    ],
)
def test_black_is_known(name: str, seen: Any, expected: bool) -> None:  # noqa: ANN401
    """A colour or a value of nought."""
    assert is_dark(grammar_of(), name, seen) is expected
