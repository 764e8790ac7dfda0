"""Places: pointers and paths, direct walks and the library, and what is no place."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.places import ABSENT, Document, PlaceError, compile_place

DOCUMENT = {
    "hull": {"planks": [3, 5, 8], "": "no name", "a/b": 1, "m~n": 2, "0": "nought"},
    "gone": None,
    "parts": [{"at": "bow", "wet": True}, {"at": "stern", "wet": False}],
}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", DOCUMENT),
        ("/hull/planks/0", 3),
        ("/hull/planks/2", 8),
        ("/hull/planks/3", ABSENT),
        ("/hull/planks/-", ABSENT),
        ("/hull/planks/-1", ABSENT),
        ("/hull/planks/01", ABSENT),
        ("/hull/planks/+1", ABSENT),
        ("/hull/planks/٣", ABSENT),
        ("/hull/planks/" + "9" * 5000, ABSENT),
        ("/hull/0", "nought"),
        ("/hull/", "no name"),
        ("/hull/a~1b", 1),
        ("/hull/m~0n", 2),
        ("/hull/~01", ABSENT),
        ("/gone", None),
        ("/gone/further", ABSENT),
        ("/hull/planks/0/further", ABSENT),
        ("/Hull", ABSENT),
        ("$", DOCUMENT),
        ("$.hull.planks[0]", 3),
        ("$['hull']['planks'][-1]", 8),
        ("$.hull.planks[-4]", ABSENT),
        ("$.hull[0]", ABSENT),
        ("$.hull['0']", "nought"),
        ("$.hull.planks.length", ABSENT),
        ("$.gone", None),
        ("$.parts[?@.wet==true].at", "bow"),
        ("$.parts[?@.at=='keel'].at", ABSENT),
        ("$.parts[*].at", "bow"),
    ],
)
def test_find(text: str, found: object) -> None:
    """The value at the place, the first of several, or nothing; null is a value."""
    assert compile_place(text).find(DOCUMENT) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("/hull/planks", [[3, 5, 8]]),
        ("/missing", []),
        ("$.parts[*].at", ["bow", "stern"]),
        ("$..wet", [True, False]),
        ("$.hull.planks[::2]", [3, 8]),
        ("$.missing[*]", []),
    ],
)
def test_find_all(text: str, found: list[object]) -> None:
    """Every selected value."""
    assert compile_place(text).find_all(DOCUMENT) == found


@pytest.mark.parametrize(
    ("text", "single"),
    [("", True), ("/a/0", True), ("$.a[0]", True), ("$", True), ("$.a[*]", False), ("$..a", False)],
)
def test_single(text: str, single: bool) -> None:
    """Only a place that names members and indices can be but one."""
    assert compile_place(text).single is single


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("hull", "did you mean '/hull'?"),
        (".hull", "did you mean '/hull'?"),
        ("#/hull", "without the #"),
        ("/hull/~", "~ at character 7"),
        ("/a~2", "~ at character 3"),
        ("$.a[", "is no JSONPath"),
        ("$.", "is no JSONPath"),
        ("$[?length(@)]", "is no JSONPath"),
        ("$[?nothing(@)]", "is no JSONPath"),
        (" $.a", "is no place"),
    ],
)
def test_what_is_no_place(text: str, problem: str) -> None:
    """One sentence in one line that shows the text and says what is wrong with it."""
    with pytest.raises(PlaceError) as caught:
        compile_place(text)
    sentence = str(caught.value)
    assert sentence.startswith(f"'{text}' ")
    assert problem in sentence
    assert "\n" not in sentence


def test_a_document_deeper_than_the_library_goes() -> None:
    """Nothing is found, and nothing is raised."""
    document: Document = {"wet": True}
    for _ in range(200):
        document = [document]
    assert compile_place("$..wet").find_all(document) == []
    assert compile_place("$..wet").find(document) is ABSENT


def test_places_of_one_text_are_equal() -> None:
    """Readers are compared by what they say."""
    assert compile_place("/a") == compile_place("/a")
    assert compile_place("/a") != compile_place("$.a")
    assert len({compile_place("/a"), compile_place("/a")}) == 1


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5),
    lambda children: (
        st.lists(children, max_size=4) | st.dictionaries(st.text(max_size=4), children, max_size=4)
    ),
    max_leaves=20,
)


def _paths(document: Document, steps: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    found = [steps]
    if isinstance(document, dict):
        for name, child in document.items():
            found += _paths(child, (*steps, name))
    elif isinstance(document, list):
        for index, child in enumerate(document):
            found += _paths(child, (*steps, index))
    return found


def _at(document: Document, steps: tuple[str | int, ...]) -> Document:
    for step in steps:
        document = document[step]
    return document


@given(JSON, st.data())
def test_every_value_has_a_pointer_and_a_path(document: Document, data: st.DataObject) -> None:
    """Whatever the names are, both notations reach every value of a document."""
    steps = data.draw(st.sampled_from(_paths(document)))
    pointer = "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps)
    assert compile_place(pointer).find(document) == _at(document, steps)
    names = [json.dumps(step, ensure_ascii=True) for step in steps]
    path = "$" + "".join(f"[{name}]" for name in names)
    assert compile_place(path).find_all(document) == [_at(document, steps)]
