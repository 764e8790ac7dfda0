"""The names of a template stand for a place and a light in the dialect's own writing."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.lights.dialect.grammar import ColourCodec, CountCodec, ScaleCodec, WordCodec
from bridge.lights.dialect.naming import (
    LIGHT_NAMES,
    light_names,
    native_light,
    painted_light,
    place_names,
)
from bridge.lights.look import Native
from bridge.lights.place import Place
from tests.lights.dialect.building import EFFECTS, grammar_of

STEADY = EFFECTS["steady"][0]
AMBER = (200, 100, 50)

PLACES: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({}, {"segment": "rack", "number": 2, "first": 12, "last": 17, "length": 6}),
    (
        {
            "number": CountCodec(1, "text", "bar-", "!"),
            "first": CountCodec(1),
            "last": CountCodec(1),
        },
        {"segment": "rack", "number": "bar-3!", "first": 13, "last": 18, "length": 6},
    ),
]


@pytest.mark.parametrize(("codecs", "expected"), PLACES)
def test_a_place_is_named(codecs: dict[str, Any], expected: dict[str, Any]) -> None:
    """Pixels are counted as the controller counts them, the last one included."""
    place = Place("rack", 2, 12, 6)
    assert place_names(grammar_of(**codecs), place, expected) == expected


LIGHTS: list[tuple[bool, dict[str, Any]]] = [
    # The level has a place of its own, and colour, channels and value are full.
    (False, {"colour": "c86432", "level": 128, "red": 200, "green": 100, "blue": 50, "value": 78}),
    # It is folded, into each way to write a colour, with one rounding each.
    (True, {"colour": "643219", "level": 128, "red": 100, "green": 50, "blue": 25, "value": 39}),
]


@pytest.mark.parametrize(("folded", "expected"), LIGHTS)
def test_a_light_is_named(folded: bool, expected: dict[str, Any]) -> None:
    """At half level, with the level apart or folded in."""
    grammar = grammar_of()
    light = native_light(grammar, Native("steady", AMBER, 0.5), STEADY, folded=folded)
    names = light_names(grammar, light, LIGHT_NAMES)
    assert {name: names[name] for name in expected} == expected
    assert (names["hue"], names["saturation"]) == (20, 75)
    assert (names["effect"], names["on"]) == ("plain", True)


def test_white_takes_what_the_others_have_in_common() -> None:
    """With the level folded in where it has no place; without a place for it nothing is taken."""
    grammar = grammar_of(white=ScaleCodec(high=1000))
    channels = {"red", "green", "blue", "white"}
    for folded, told in ((False, (150, 50, 0, 196)), (True, (75, 25, 0, 98))):
        look = Native("steady", AMBER, 0.5)
        light = native_light(grammar, look, STEADY, folded=folded, has_white=True)
        names = light_names(grammar, light, channels)
        assert tuple(names[name] for name in ("red", "green", "blue", "white")) == told
    assert light_names(grammar, painted_light(AMBER, has_white=True), channels) == {
        "red": 150,
        "green": 50,
        "blue": 0,
        "white": 196,
    }
    assert light_names(grammar, painted_light(AMBER), channels) == {
        "red": 200,
        "green": 100,
        "blue": 50,
        "white": 0,
    }


def test_only_what_is_wanted_is_named() -> None:
    """Names of the other kind are left to the other table."""
    assert place_names(grammar_of(), Place("rack", 2, 12, 6), {"colour", "first"}) == {"first": 12}
    assert light_names(grammar_of(), painted_light(AMBER), {"first", "on"}) == {"on": True}


DARK = [Native("steady", AMBER, 0.0), Native("steady", (0, 0, 0), 1.0)]


@pytest.mark.parametrize("look", DARK)
def test_a_dark_look_is_flagged_and_not_lifted(look: Native) -> None:
    """Neither a least level nor the flag lights what should be dark."""
    grammar = grammar_of(level=ScaleCodec(least=20), on=WordCodec("yes", "no"))
    names = light_names(grammar, native_light(grammar, look, STEADY, folded=True), LIGHT_NAMES)
    assert (names["on"], names["colour"]) == ("no", "000000")


def test_the_least_level_is_folded_too() -> None:
    """A lit look gets at least that much of its colour."""
    grammar = grammar_of(level=ScaleCodec(high=100, least=20), colour=ColourCodec(level="folded"))
    light = native_light(grammar, Native("steady", AMBER, 0.01), STEADY, folded=True)
    assert light_names(grammar, light, ["colour"]) == {"colour": "28140a"}


def test_the_folded_colour_is_rounded_as_the_level_is() -> None:
    """One rounding for a dialect: 100.5 goes down where levels do."""
    grammar = grammar_of(level=ScaleCodec(rounding="down"))
    light = native_light(grammar, Native("steady", (201, 201, 201), 0.5), STEADY, folded=True)
    assert light_names(grammar, light, ["colour"]) == {"colour": "646464"}


def test_a_painted_pixel_has_its_brightness_in_its_colour() -> None:
    """Its level is full, and it is lit unless it is black."""
    grammar = grammar_of()
    names = light_names(grammar, painted_light((2, 0, 0)), ["colour", "level", "on"])
    assert names == {"colour": "020000", "level": 255, "on": True}
    assert light_names(grammar, painted_light((0, 0, 0)), ["on"]) == {"on": False}
