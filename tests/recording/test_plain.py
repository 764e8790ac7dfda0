"""Types as JSON has them: read back whole, refused in words with the way to what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.recording.plain import NotOfTypeError, fields_of, value_of


class Wood(Enum):
    """A made-up enumeration."""

    OAK = "oak"
    LIME = "lime"


@dataclass(frozen=True, slots=True)
class Plank:
    """A made-up part."""

    wood: Wood
    length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Nail:
    """Another."""

    count: int


@dataclass(frozen=True, slots=True)
class Box:
    """Has one field of every form."""

    name: str = "box"
    lid: bool = True
    side: Literal["left", "right"] = "left"
    planks: tuple[Plank, ...] = ()
    first: Plank | Nail = Nail(1)
    label: bytes | None = None
    sizes: tuple[tuple[str, int], ...] = ()
    notes: Mapping[str, str | int | None] = field(default_factory=dict)
    spare: Wood | None = None


PLAIN: dict[str, object] = {
    "name": "box",
    "lid": True,
    "side": "left",
    "planks": [],
    "first": {"kind": "Nail", "count": 1},
    "label": None,
    "sizes": [],
    "notes": {},
    "spare": None,
}

WRITTEN = {
    "as little as there is": (Box(), {}),
    "an enumeration by its value": (Box(spare=Wood.LIME), {"spare": "lime"}),
    "one of several with its kind": (
        Box(first=Plank(Wood.OAK)),
        {"first": {"kind": "Plank", "wood": "oak", "length_mm": None}},
    ),
    "parts without a kind where there is no choice": (
        Box(planks=(Plank(Wood.OAK, 1.5),)),
        {"planks": [{"wood": "oak", "length_mm": 1.5}]},
    ),
    "a number that happens to be whole": (
        Box(planks=(Plank(Wood.OAK, 2),)),
        {"planks": [{"wood": "oak", "length_mm": 2.0}]},
    ),
    "bytes that are text": (Box(label=b"A"), {"label": {"text": "A"}}),
    "bytes that are none": (Box(label=b"\xff"), {"label": {"base64": "/w=="}}),
    "pairs": (Box(sizes=(("a", 1),)), {"sizes": [["a", 1]]}),
    "names and what they have": (
        Box(notes={"a": 1, "b": "x", "c": None}),
        {"notes": {"a": 1, "b": "x", "c": None}},
    ),
}


@pytest.mark.parametrize(("box", "says"), WRITTEN.values(), ids=WRITTEN.keys())
def test_every_form_is_written_and_read(box: Box, says: dict[str, object]) -> None:
    """Both ways."""
    assert fields_of(box) == {**PLAIN, **says}
    assert value_of(Box, {**PLAIN, **says}) == box


REFUSED = {
    "no object": ([], "[] is no Box"),
    "a field missing": (
        {name: each for name, each in PLAIN.items() if name != "lid"},
        "missing: lid",
    ),
    "a field too many": ({**PLAIN, "hinge": 1}, "not known: 'hinge'"),
    "a number for a text": ({**PLAIN, "name": 1}, "name: 1 is no str"),
    "a number for a flag": ({**PLAIN, "lid": 1}, "lid: 1 is no bool"),
    "a word that is none of them": ({**PLAIN, "side": "up"}, "side: 'up' is none of left, right"),
    "no list": ({**PLAIN, "planks": {}}, "planks: {} is no list"),
    "a flag for a number": (
        {**PLAIN, "planks": [{"wood": "oak", "length_mm": True}]},
        "planks[0].length_mm: True is no float",
    ),
    "a number beyond all": (
        {**PLAIN, "planks": [{"wood": "oak", "length_mm": float("inf")}]},
        "planks[0].length_mm: inf is no float",
    ),
    "a whole number beyond all": (
        {**PLAIN, "planks": [{"wood": "oak", "length_mm": 10**400}]},
        "is no float",
    ),
    "no such wood": (
        {**PLAIN, "planks": [{"wood": "elm", "length_mm": 1}]},
        "planks[0].wood: 'elm' is no Wood, which are oak, lime",
    ),
    "a wood that cannot be looked up": (
        {**PLAIN, "planks": [{"wood": [], "length_mm": 1}]},
        "planks[0].wood: [] is no Wood",
    ),
    "no kind": ({**PLAIN, "first": {"count": 1}}, "first: {'count': 1} has no kind"),
    "a kind unheard of": (
        {**PLAIN, "first": {"kind": "Screw"}},
        "first.kind: 'Screw' is none of Plank, Nail",
    ),
    "the fields of another kind": (
        {**PLAIN, "first": {"kind": "Nail", "wood": "oak"}},
        "first: Nail has count; missing: count; not known: 'wood'",
    ),
    "bytes in a third form": ({**PLAIN, "label": {"hex": "00"}}, "label: bytes are written as"),
    "base64 that is none": ({**PLAIN, "label": {"base64": "*"}}, "label: its base64 cannot"),
    "half a surrogate pair": ({**PLAIN, "label": {"text": "\ud800"}}, "label: its text is half"),
    "neither of two": ({**PLAIN, "label": 7}, "label: 7 is no bytes or NoneType"),
    "a pair of three": ({**PLAIN, "sizes": [["a", 1, 2]]}, "sizes[0]: ['a', 1, 2] is no list of 2"),
    "a pair turned round": ({**PLAIN, "sizes": [[1, "a"]]}, "sizes[0][0]: 1 is no str"),
    "no names": ({**PLAIN, "notes": []}, "notes: [] is no object"),
    "a value that is none": ({**PLAIN, "notes": {"a": []}}, "notes.a: [] is no str or int or"),
}


@pytest.mark.parametrize(("plain", "why"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_not_of_the_type_is_refused_where_it_stands(plain: object, why: str) -> None:
    """Nothing is filled in and nothing is passed over."""
    with pytest.raises(NotOfTypeError) as error:
        value_of(Box, plain)
    assert why in str(error.value)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=5,
)


@given(st.dictionaries(st.sampled_from(sorted(PLAIN)), JSON))
def test_whatever_stands_in_a_field_gives_a_value_or_the_error(says: dict[str, object]) -> None:
    """And what was accepted is written as it was read."""
    try:
        box = value_of(Box, {**PLAIN, **says})
    except NotOfTypeError:
        return
    assert fields_of(box) == {**PLAIN, **says}
