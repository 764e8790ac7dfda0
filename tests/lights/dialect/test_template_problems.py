"""What any template can have wrong."""

from __future__ import annotations

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.template_problems import (
    PLACES,
    item_problems,
    template_problems,
    unknown_name,
    white_problems,
)
from bridge.lights.dialect.templates import compile_template
from tests.lights.dialect.building import read_of


def test_a_name_that_cannot_stand_there_is_told_with_the_nearest() -> None:
    """Or with all that can, or that none can."""
    assert unknown_name("fist", PLACES).endswith("did you mean 'first'?")
    assert unknown_name("zzz", ["a", "b"]).endswith("expected one of a, b")
    assert (
        unknown_name("first", []) == "'first' cannot stand here; this request is about no segment"
    )


def test_it_stands_at_its_place() -> None:
    """By keys and indices from where the template stands."""
    found = list(template_problems(("body",), compile_template({"a": ["{zzz}"]}), PLACES))
    assert [path for path, _ in found] == [("body", "a", 0)]


RGB = ("red", "green", "blue")


@pytest.mark.parametrize(
    ("names", "sentence"),
    [
        (
            ("white",),
            "has {white} without {red}, {green} and {blue}; expected all four, and no {colour}",
        ),
        (("white", "colour", "level"), "has {white} without {red}, {green} and {blue}"),
        (("white", "red", "green"), "has {white} without {red}, {green} and {blue}"),
        ((*RGB, "white", "colour"), "has the white twice: as {white} and in {colour}; expected"),
        ((*RGB, "white", "hue"), "has the white twice: as {white} and in {hue}; expected"),
    ],
)
def test_white_is_a_part_of_red_green_and_blue(names: tuple[str, ...], sentence: str) -> None:
    """Anything else would be too much light, or too little."""
    ((at, found),) = white_problems(("show",), frozenset(names))
    assert at == ("show",)
    assert found.startswith(sentence)


@pytest.mark.parametrize("names", [(), RGB, (*RGB, "white", "level", "number"), ("colour",)])
def test_white_in_its_place_is_left_alone(names: tuple[str, ...]) -> None:
    """Beside its three, or not at all."""
    assert list(white_problems(("show",), frozenset(names))) == []


def test_an_item_is_found_by_a_list_or_a_key() -> None:
    """Not by both, and a list wants to know whose item is whose."""
    lonely = read_of(match=())
    both = read_of(keyed="{number}")
    nowhere = read_of(each=None)
    assert [path for path, _ in item_problems(("read",), lonely)] == [("read", "list")]
    assert [path for path, _ in item_problems(("read",), both)] == [("read", "keyed")]
    assert [path for path, _ in item_problems(("read",), nowhere)] == [("read", "match")]
    assert list(item_problems(("read",), read_of(each=compile_place("/rows")))) == []
