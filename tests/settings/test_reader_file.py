"""The model of ``readers/NAME.yaml``: words, codes and bits keep their type."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from bridge.settings.reader_file import Bits, Facts, Found, Ratio, UnitText, Values


def test_codes_keep_their_type() -> None:
    """20 and "20" are two codes, and true is a third."""
    codes = {20: "idle", "20": "stopped", True: "processing", None: "idle"}
    read = TypeAdapter(Values).validate_python(codes)
    assert [(type(code), word) for code, word in read.items()] == [
        (int, "idle"),
        (str, "stopped"),
        (bool, "processing"),
        (type(None), "idle"),
    ]


REFUSED: list[tuple[object, object]] = [
    (Values, {}),
    (Values, []),
    (Values, {"a": 1}),
    (Values, {"a": ["idle", 2]}),
    (Values, {"a": {"b": "c"}}),
    (Bits, {64: "other"}),
    (Bits, {-1: "other"}),
    (Bits, {True: "other"}),
    (Bits, {"2": "other"}),
    (UnitText, "minutes"),
    (UnitText, "0.1°C"),
    (UnitText, ". s"),
]


@pytest.mark.parametrize(("kind", "value"), REFUSED)
def test_what_means_nothing_is_refused(kind: Any, value: object) -> None:  # noqa: ANN401
    """Each with a sentence."""
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(kind).validate_python(value)
    assert [error["type"] for error in caught.value.errors()] == ["sentence"]


def test_a_way_is_found_or_reckoned() -> None:
    """A ratio stands among the ways."""
    ways = {"progress": [{"in": "a", "at": "/b"}, {"ratio": ["layer", "layers"]}]}
    read = TypeAdapter(Facts).validate_python(ways)["progress"]
    assert isinstance(read, list)
    assert [type(way) for way in read] == [Found, Ratio]
