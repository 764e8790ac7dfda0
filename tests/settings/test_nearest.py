"""Values and names in sentences."""

from __future__ import annotations

import pytest

from bridge.settings.nearest import listed, meant, nearest, shown

SHOWN = [
    (None, "nothing"),
    (True, "true"),
    (5, "5"),
    (0.5, "0.5"),
    ("wall", "'wall'"),
    ("x" * 70, f"'{'x' * 59}…'"),
    ({"a": 1}, "a mapping"),
    ([1], "a list"),
]


@pytest.mark.parametrize(("value", "text"), SHOWN)
def test_a_value_is_shown_as_in_the_file(value: object, text: str) -> None:
    """On one line, not too long, containers by their kind."""
    assert shown(value) == text


LISTED = [([], ""), (["a"], "a"), (["a", "b"], "a or b"), (["a", "b", "c"], "a, b or c")]


@pytest.mark.parametrize(("names", "text"), LISTED)
def test_names_are_listed_as_people_do(names: list[str], text: str) -> None:
    """Commas, then a word."""
    assert listed(names) == text


MEANT = [
    ("wal", ["wall", "bench"], "; did you mean 'wall'?"),
    ("WALL", ["wall"], "; did you mean 'wall'?"),
    ("stove", ["wall", "bench"], "; known are bench and wall"),
    ("stove", ["wall"], "; known is wall"),
    ("stove", [], "; there is none"),
    ("stove", [f"wall-{number}" for number in range(9)], ""),
]


@pytest.mark.parametrize(("name", "known", "clause"), MEANT)
def test_a_wrong_name_gets_the_nearest_or_the_few(name: str, known: list[str], clause: str) -> None:
    """A guess where one is near, the list where it is short, silence otherwise."""
    assert meant(name, known) == clause


def test_the_nearest_keeps_its_own_case() -> None:
    """What is suggested can be typed as it stands."""
    assert nearest("FRAM", ["Frame", "sill"]) == "Frame"
    assert nearest("zzz", ["Frame"]) is None
