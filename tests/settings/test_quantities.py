"""Quantities with their units."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from bridge.settings.quantities import (
    CELSIUS,
    KELVIN,
    Duration,
    Length,
    Proportion,
    Rate,
    Requests,
    Size,
    SomeTime,
)

GOOD: list[tuple[object, object, object]] = [
    (Duration, "300ms", 300),
    (Duration, "5s", 5000),
    (Duration, "1.5 s", 1500),
    (Duration, "2m", 120_000),
    (Duration, "1h", 3_600_000),
    (Duration, "3d", 259_200_000),
    (Duration, "0s", 0),
    (Proportion, "80 %", 0.8),
    (Proportion, "12.5%", 0.125),
    (Proportion, "0 %", 0.0),
    (Proportion, "100 %", 1.0),
    (Size, "1500 B", 1500),
    (Size, "2 kB", 2000),
    (Size, "0.5 kB", 500),
    (Length, "16.7 mm", Fraction(167, 10)),
    (Length, "1000/60 mm", Fraction(50, 3)),
    (Length, "1 m", Fraction(1000)),
    (Requests, "4/s", Rate(4, 1000)),
    (Requests, "30/min", Rate(30, 60_000)),
]


@pytest.mark.parametrize(("kind", "text", "value"), GOOD)
def test_a_quantity_is_read_in_its_own_unit(kind: Any, text: object, value: object) -> None:  # noqa: ANN401
    """Exactly, where the unit is whole."""
    assert TypeAdapter(kind).validate_python(text) == value


BAD: list[tuple[object, object, str]] = [
    (Duration, 5, "5 has no unit, write for example 300ms, 5s"),
    (Duration, "5", "'5' has no unit"),
    (Duration, 0.5, "0.5 has no unit"),
    (Duration, True, "true is no duration"),
    (Duration, None, "nothing is no duration"),
    (Duration, ["5s"], "a list is no duration"),
    (Duration, "5 sec", "'5 sec' is no duration"),
    (Duration, "-5s", "'-5s' is no duration"),
    (Duration, "0.1ms", "'0.1ms' is too fine"),
    (Duration, "5s\n", "is no duration"),
    (SomeTime, "0s", "'0s' is no time at all"),
    (Proportion, 0.8, "0.8 has no unit, write for example 80 %"),
    (Proportion, "101 %", "'101 %' is too much, at most 100 %"),
    (Size, "2 KB", "'2 KB' is no size"),
    (Size, "0.1 B", "'0.1 B' is too fine"),
    (Length, 16.7, "16.7 has no unit, write for example 16.7 mm or 1000/60 mm"),
    (Length, "1000/60", "'1000/60' has no unit"),
    (Length, "1000/0 mm", "'1000/0 mm' is no length"),
    (Length, "0 mm", "'0 mm' is no length at all"),
    (Length, "3 inch", "'3 inch' is no length"),
    (Requests, 4, "4 is no rate, write for example 4/s or 30/min"),
    (Requests, "0/s", "'0/s' is no rate"),
    (Requests, "4/h", "'4/h' is no rate"),
]


@pytest.mark.parametrize(("kind", "text", "said"), BAD)
def test_a_wrong_quantity_is_shown_with_an_example(kind: Any, text: object, said: str) -> None:  # noqa: ANN401
    """No guess at the unit, no trace."""
    with pytest.raises(ValidationError) as caught:
        TypeAdapter(kind).validate_python(text)
    (error,) = caught.value.errors()
    assert said in error["msg"]


def test_a_temperature_may_be_below_zero() -> None:
    """A chamber in a shed in January."""
    assert CELSIUS.read("-4.5 °C") == Fraction(-9, 2)
    assert KELVIN.read("2700 K") == 2700
    with pytest.raises(ValueError, match="no colour temperature"):
        KELVIN.read("-2700 K")
