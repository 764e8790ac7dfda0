"""Templates are filled in with their values' own types, and say what is wrong with them."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.lights.dialect.templates import (
    Pixels,
    Scope,
    compile_template,
    merged,
    text_form,
    text_parts,
)

NAMES = {"number": 2, "name": "é", "level": 0.5, "on": True, "ink": [1, 2]}

FILLED = [
    ("{number}", 2),
    ("{level}", 0.5),
    ("{on}", True),
    ("{ink}", [1, 2]),
    ("bar-{number}", "bar-2"),
    ("{number}{name}", "2é"),
    ("{number}-{level} {on}", "2-0.5 true"),
    ("{{{number}}}", "{2}"),
    ("{{number}}", "{number}"),
    ("", ""),
    (7, 7),
    (None, None),
    ({"{name}": {"a": ["{number}", 1]}}, {"é": {"a": [2, 1]}}),
    ({"{number}": 1}, {"2": 1}),
    ({"a": [], "b": {}}, {"a": [], "b": {}}),
]


@pytest.mark.parametrize(("template", "expected"), FILLED)
def test_a_template_is_filled_in(template: Any, expected: Any) -> None:  # noqa: ANN401
    """A text that is one name takes the value's own type; in any other text its text form."""
    compiled = compile_template(template)
    assert compiled.faults == ()
    filled = compiled.render(Scope(NAMES))
    assert filled == expected
    assert type(filled) is type(expected)


SEGMENTS = [Scope({"number": n, "ink": [n, n]}) for n in (1, 2)]
REPEATED = [
    ({"put": "{number}"}, [1, 2]),
    ({"put": {"n": "{number}"}}, [{"n": 1}, {"n": 2}]),
    ({"put": "{number}", "joined": ","}, "1,2"),
    ({"put": {"b{number}": 0}, "into": "object"}, {"b1": 0, "b2": 0}),
    ({"put": ["{number}", "x"], "into": "flat"}, [1, "x", 2, "x"]),
    ({"put": "{ink}", "into": "flat"}, [1, 1, 2, 2]),
]


@pytest.mark.parametrize(("template", "expected"), REPEATED)
def test_segments_are_repeated(template: dict[str, Any], expected: Any) -> None:  # noqa: ANN401
    """The parts become a list, a text, an object or one flat list."""
    compiled = compile_template({"each": "segment"} | template)
    assert compiled.faults == ()
    assert compiled.render(Scope({}, segments=SEGMENTS)) == expected


def test_a_segment_may_bring_its_own_part() -> None:
    """An effect that adds members changes one segment's part and no other's."""
    own = compile_template({"n": "{number}", "more": 1}).render
    scopes = [Scope({"number": 1}), Scope({"number": 2}, put=own)]
    compiled = compile_template({"each": "segment", "put": {"n": "{number}"}})
    assert compiled.render(Scope({}, segments=scopes)) == [{"n": 1}, {"n": 2, "more": 1}]


def test_pixels_are_numbered_or_made_once_a_colour() -> None:
    """A put without a number is made once for each colour, in the frame's order."""
    made: list[tuple[int, int, int]] = []

    def names(number: int, colour: tuple[int, int, int]) -> dict[str, Any]:
        made.append(colour)
        return {"pixel": number, "colour": "".join(f"{channel:x}" for channel in colour)}

    frame = bytes.fromhex("010203" * 3 + "040506")
    plain = compile_template({"each": "pixel", "put": "{colour}"})
    scope = Scope({}, pixels=Pixels(10, frame, names))
    assert plain.render(scope) == ["123", "123", "123", "456"]
    assert made == [(1, 2, 3), (4, 5, 6)]
    numbered = compile_template({"each": "pixel", "put": ["{pixel}", "{colour}"]})
    assert numbered.render(scope)[-1] == [13, "456"]


def test_the_uses_say_where_and_how() -> None:
    """Each placeholder is known by its path, the repetitions round it, and whether it is alone."""
    compiled = compile_template({"a": {"each": "range", "put": ["{first}", "x{last}"]}})
    assert [(use.at, use.name, use.inside, use.alone) for use in compiled.uses] == [
        (("a", "put", 0), "first", ("range",), True),
        (("a", "put", 1), "last", ("range",), False),
    ]
    assert compiled.names == {"first", "last"}
    assert compiled.repeats_each("range")
    assert not compiled.repeats_each("pixel")


FAULTS = [
    ("{number", (), "lone brace at character 1"),
    ("a}b", (), "lone brace at character 2"),
    ("{}", (), "lone brace at character 1"),
    ({"a": [1, "{x"]}, ("a", 1), "lone brace"),
    ("{a} } {", (), "lone brace at character 5"),
    ('{"a": "{colour}", "b": {level}}', (), "is JSON in a text; write the data itself"),
    ('{"a": 1}', (), "is JSON in a text; write the data itself"),
    ('[ {"a": 1}]', (), "is JSON in a text; write the data itself"),
    ({1: "a"}, (1,), "the key 1 is not a text"),
    ({"a": {1, 2}}, ("a",), "is not JSON"),
    ({"a": float("nan")}, ("a",), "nan is no number of JSON"),
    ({"each": "lamp", "put": 1}, (), "'lamp' is none of segment, range, pixel"),
    ({"each": "pixel"}, (), "expected put: TEMPLATE beside it"),
    ({"each": "pixel", "put": 1, "times": 3}, (), "'times' cannot stand beside each"),
    ({"each": "pixel", "put": 1, "into": "bag"}, (), "'bag' is none of list, object, flat"),
    ({"each": "pixel", "put": 1, "into": "object"}, (), "into: object wants put to be a mapping"),
    ({"each": "pixel", "put": 1, "into": "flat"}, (), "into: flat wants put to be a list"),
    ({"each": "pixel", "put": 1, "into": "flat", "joined": ""}, (), "joined makes a text"),
    ({"each": "pixel", "put": 1, "most": 0}, (), "most: 0 is no number of parts"),
    ({"each": "pixel", "put": 1, "most": True}, (), "most: True is no number of parts"),
    (
        {"each": "pixel", "put": {"each": "pixel", "put": 1}},
        ("put",),
        "each: pixel cannot stand inside each: pixel",
    ),
    (
        {"each": "range", "put": {"each": "segment", "put": 1}},
        ("put",),
        "each: segment cannot stand inside each: range",
    ),
]


@pytest.mark.parametrize(("template", "at", "sentence"), FAULTS)
def test_a_fault_is_named_with_its_path(
    template: Any,  # noqa: ANN401
    at: tuple[str | int, ...],
    sentence: str,
) -> None:
    """Compiling never raises; each fault has its place and its sentence."""
    (found,) = compile_template(template).faults
    assert found[0] == at
    assert sentence in found[1]


MERGES = [
    ({"a": 1}, {"b": 2}, {"a": 1, "b": 2}),
    ({"a": {"b": 1}}, {"a": {"c": 2}}, {"a": {"b": 1, "c": 2}}),
    ({"a": 1, "b": 2}, {"a": None}, {"b": 2}),
    ({"a": 1}, {"a": {"b": None}}, {"a": {}}),
    (None, {"a": 1}, {"a": 1}),
]


@pytest.mark.parametrize(("template", "adds", "expected"), MERGES)
def test_what_an_effect_adds_is_merged(template: Any, adds: Any, expected: Any) -> None:  # noqa: ANN401
    """As RFC 7396: members are merged, null takes one away; the template itself stays as it was."""
    before = repr(template)
    assert merged(template, adds) == expected
    assert repr(template) == before


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=10,
)


@settings(deadline=None)
@given(JSON)
def test_any_json_compiles_without_an_exception(template: Any) -> None:  # noqa: ANN401
    """Whatever a file holds, compiling ends in a closure and a list of faults."""
    compiled = compile_template(template)
    if not compiled.faults and not compiled.uses and not compiled.repeats:
        doubled = repr(template)
        if "{{" not in doubled and "}}" not in doubled:
            assert compiled.render(Scope({})) == template


@settings(deadline=None)
@given(st.text(st.sampled_from("ab{}"), max_size=12))
def test_a_text_without_faults_keeps_every_character(text: str) -> None:
    """Literals, names and doubled braces together are the whole text."""
    parts, faults = text_parts(text)
    if not faults:
        again = "".join(
            f"{{{part.text}}}" if part.is_name else part.text.replace("{", "{{").replace("}", "}}")
            for part in parts
        )
        assert again == text


@pytest.mark.parametrize(
    ("value", "text"),
    [("a", "a"), (1, "1"), (True, "true"), (None, "null"), (0.5, "0.5"), ([1, "é"], '[1,"é"]')],
)
def test_the_text_form_is_jsons(value: Any, text: str) -> None:  # noqa: ANN401
    """Inside a text a value stands as JSON writes it, a text without its quotes."""
    assert text_form(value) == text
