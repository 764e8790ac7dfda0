"""What the models are made of."""

from __future__ import annotations

from typing import Annotated, Any

import pytest
from pydantic import Field, TypeAdapter, ValidationError

from bridge.settings.shapes import (
    BROKEN,
    Credential,
    KeepGoing,
    Keys,
    Later,
    Name,
    Reading,
    Value,
    any_broken,
    whole,
    whole_items,
)


class Lamp(Keys):
    """A model of the test's own."""

    pixels: int
    table: Name | None = None
    drift: Later = None


class Room(Keys):
    """One that keeps going."""

    lamps: Annotated[dict[Name, Lamp], KeepGoing]
    order: Annotated[list[Lamp], KeepGoing] = Field(default=[])


def test_wrong_entries_are_marked_and_right_ones_read() -> None:
    """In a mapping and in a list, at their own place."""
    data = {
        "lamps": {"a": {"pixels": 1}, "b": {"pixels": "many"}, 3: {"pixels": 1}},
        "order": [{"pixels": 0.5}, {"pixels": 2}, "lamp"],
    }
    reading = Reading()
    room = Room.model_validate(data, context=reading)
    assert [name for name, _ in whole(room.lamps)] == ["a"]
    assert set(room.lamps) == {"a", "b", "3"}
    assert [(index, lamp.pixels) for index, lamp in whole_items(room.order)] == [(1, 2)]
    assert any_broken(room.lamps.values())
    assert not any_broken([room.lamps["a"]])
    assert [container for container, _ in reading.kept] == [data["lamps"], data["order"]]
    assert repr(BROKEN) == "BROKEN"


def test_without_a_reading_errors_are_errors() -> None:
    """Nothing is marked where nobody would look."""
    with pytest.raises(ValidationError):
        Room.model_validate({"lamps": {"a": {"pixels": "many"}}})


def test_the_model_of_each_mapping_is_remembered() -> None:
    """So that an unknown key gets the nearest of the right ones."""
    lamp = {"pixels": 1}
    reading = Reading()
    Room.model_validate({"lamps": {"a": lamp}}, context=reading)
    assert reading.models[id(lamp)] is Lamp


REFUSED = [
    ({"pixels": 1, "table": None}, "empty"),
    ({"pixels": 1, "drift": "yield"}, "later"),
    ({"pixels": 1, "drift": None}, "later"),
    ({"pixels": True}, "int_type"),
    ({"pixels": "1"}, "int_type"),
    ({"pixels": 1, "lamp": 2}, "extra_forbidden"),
]


@pytest.mark.parametrize(("data", "kind"), REFUSED)
def test_a_mapping_is_read_strictly(data: dict[str, object], kind: str) -> None:
    """No other key, no empty one, no guess at a type."""
    with pytest.raises(ValidationError) as caught:
        Lamp.model_validate(data)
    assert [error["type"] for error in caught.value.errors()] == [kind]


NAMES = [
    ("kestrel", True),
    ("door-frame_2", True),
    ("7th", True),
    ("Größe", True),
    ("x" * 64, True),
    ("x" * 65, False),
    ("", False),
    ("two words", False),
    ("-dash", False),
    ("a/b", False),
    ("a.b", False),
    ("a:b", False),
    ("a\n", False),
    (7, False),
    (True, False),
    (None, False),
]


@pytest.mark.parametrize(("name", "right"), NAMES)
def test_a_name_can_be_a_file_and_part_of_a_topic(name: object, right: bool) -> None:
    """Letters of any script, digits, - and _."""
    assert _is_right(Name, name) is right


CREDENTIALS = [
    ("press", True),
    ("a.b-c_D", True),
    ("user:password", False),
    ("ä", False),
    (5, False),
]


@pytest.mark.parametrize(("name", "right"), CREDENTIALS)
def test_a_credential_is_a_name(name: object, right: bool) -> None:
    """It becomes a file's name and a variable's."""
    assert _is_right(Credential, name) is right


def test_what_is_no_credential_is_not_shown() -> None:
    """It may be the secret itself."""
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(Credential).validate_python("tern:oystershell")
    assert "oystershell" not in caught.value.errors(include_input=False)[0]["msg"]


VALUES = [("a", True), (1, True), (None, True), (False, True), ([], False), ({}, False)]


@pytest.mark.parametrize(("value", "right"), VALUES)
def test_a_value_is_single(value: object, right: bool) -> None:
    """Null is one too."""
    assert _is_right(Value, value) is right


def _is_right(kind: Any, value: object) -> bool:  # noqa: ANN401 - a type
    try:
        TypeAdapter(kind).validate_python(value)
    except ValidationError:
        return False
    return True
