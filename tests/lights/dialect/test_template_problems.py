"""What any template can have wrong."""

from __future__ import annotations

from bridge.facts.places import compile_place
from bridge.lights.dialect.template_problems import (
    PLACES,
    item_problems,
    template_problems,
    unknown_name,
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


def test_an_item_is_found_by_a_list_or_a_key() -> None:
    """Not by both, and a list wants to know whose item is whose."""
    lonely = read_of(match=())
    both = read_of(keyed="{number}")
    nowhere = read_of(each=None)
    assert [path for path, _ in item_problems(("read",), lonely)] == [("read", "list")]
    assert [path for path, _ in item_problems(("read",), both)] == [("read", "keyed")]
    assert [path for path, _ in item_problems(("read",), nowhere)] == [("read", "match")]
    assert list(item_problems(("read",), read_of(each=compile_place("/rows")))) == []
