"""Placeholders of a reader, filled from a printer's ``with``."""

from __future__ import annotations

import pytest

from bridge.settings.document import parse
from bridge.settings.filling import Filler
from bridge.settings.spot import Spot

VALUES = {"berth": 3, "id": "b7", "on": True, "none": None}
TEXTS = [
    ("alder/{berth}/doing", "alder/3/doing"),
    ("{id}-{id}", "b7-b7"),
    ("{on} {none}", "true null"),
    ("no placeholder", "no placeholder"),
    ('{"asks": ["{id}"]}', '{"asks": ["b7"]}'),
    ("{ berth } {} {3}", "{ berth } {} {3}"),
]


@pytest.mark.parametrize(("text", "filled"), TEXTS)
def test_a_text_is_filled(text: str, filled: str) -> None:
    """As JSON would write the value; other braces stay."""
    assert Filler(VALUES).text(text) == filled


DATA = [
    ({"unit": "{berth}"}, {"unit": 3}),
    ({"unit": "no {berth}"}, {"unit": "no 3"}),
    (["{on}", "{none}", 5], [True, None, 5]),
    ({"{id}": {"{berth}": "x"}}, {"b7": {"3": "x"}}),
    ({7: "a"}, {"7": "a"}),
]


@pytest.mark.parametrize(("data", "filled"), DATA)
def test_data_is_filled(data: object, filled: object) -> None:
    """A text that is one placeholder takes the value's own type."""
    assert Filler(VALUES).data(data) == filled


def test_what_was_used_and_what_was_missing_is_kept() -> None:
    """So that a misspelt name is found from both ends."""
    filler = Filler(VALUES)
    filler.text("{berth} {bearth}")
    assert filler.used == {"berth", "bearth"}
    assert filler.missing == {"bearth"}


def test_a_reader_without_a_printer_misses_nothing() -> None:
    """Its places can be judged all the same."""
    filler = Filler(None)
    spot = Spot(parse("readers/a.yaml", "at: x\n")[0], [])
    assert filler.place("/heads/{unit}/now", spot) is not None
    assert filler.place("$.heads[{unit}].now", spot) is not None
    assert filler.missing == set()
    assert spot.problems == []


@pytest.mark.parametrize("name", ["b7", "left/b.7", "a~1b", "~", "//", 'it\'s "b7"'])
def test_a_value_is_one_name_in_a_pointer(name: str) -> None:
    """A machine may be called by a name that has the signs of a path."""
    spot = Spot(parse("readers/a.yaml", "at: x\n")[0], [])
    place = Filler({"id": name}).place("/heads/{id}/now", spot)
    assert place is not None
    assert place.find({"heads": {name: {"now": 3}}}) == 3


def test_a_place_that_is_none_is_a_problem() -> None:
    """At its spot, as it was filled."""
    spot = Spot(parse("readers/a.yaml", "at: x\n")[0], [])
    assert Filler({"id": "b7"}).place("heads/{id}", spot.at("at")) is None
    (problem,) = spot.problems
    assert str(problem).startswith("readers/a.yaml:1:5: at: 'heads/b7' is no place")
    assert Filler(VALUES).optional_place(None, spot) is None
