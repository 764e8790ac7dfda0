"""Quantities with their units, as texts: ``5s``, ``80 %``, ``10 A``, ``40 °C``, ``4/s``, ``2 kB``.

A bare number where a unit is needed is refused with an example: nobody should have to guess
whether 300 means seconds or milliseconds, and a guess that is wrong is found in the dark.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Final

from bridge.settings.nearest import shown
from bridge.settings.shapes import patterned, sentence

_NUMBER: Final = r"(?P<number>[0-9]{1,12}(\.[0-9]{1,9})?)"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A kind of quantity: its units as multiples of the one that is kept, and an example."""

    what: str
    units: dict[str, Fraction]
    example: str
    signed: bool = False

    @property
    def pattern(self) -> str:
        """The form, for Python and for JSON Schema alike."""
        number = r"[0-9]{1,12}(\.[0-9]{1,9})?"
        units = "|".join(re.escape(unit).replace("\\%", "%") for unit in self.units)
        return f"^{'-?' if self.signed else ''}{number} ?({units})$"

    def read(self, value: Any) -> Fraction:  # noqa: ANN401 - what YAML holds
        """The value in the kept unit; raises the sentence that says what was expected."""
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            raise sentence(f"{value} has no unit, write for example {self.example}")
        if not isinstance(value, str):
            raise sentence(f"{shown(value)} is no {self.what}, write for example {self.example}")
        if re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", value):
            raise sentence(f"{shown(value)} has no unit, write for example {self.example}")
        if not re.fullmatch(self.pattern, value):
            raise sentence(f"{shown(value)} is no {self.what}, write for example {self.example}")
        number = re.match(r"-?[0-9.]+", value)
        digits = number.group() if number else ""
        return Fraction(digits) * self.units[value[len(digits) :].strip()]

    def whole(self, value: Any) -> int:  # noqa: ANN401 - what YAML holds
        """The same, where only whole numbers of the kept unit exist."""
        exact = self.read(value)
        if exact.denominator != 1:
            raise sentence(f"{shown(value)} is too fine, write for example {self.example}")
        return int(exact)


_TIMES = {"ms": 1, "s": 1000, "m": 60_000, "h": 3_600_000, "d": 86_400_000}
DURATION: Final = Quantity(
    "duration", {unit: Fraction(ms) for unit, ms in _TIMES.items()}, "300ms, 5s, 2m, 1h or 3d"
)
PER_CENT: Final = Quantity("percentage", {"%": Fraction(1, 100)}, "80 %")
KELVIN: Final = Quantity("colour temperature", {"K": Fraction(1)}, "2700 K")
CELSIUS: Final = Quantity("temperature", {"°C": Fraction(1)}, "40 °C", signed=True)
#: Microamperes.
CURRENT: Final = Quantity(
    "current", {"A": Fraction(10**6), "mA": Fraction(1000), "µA": Fraction(1)}, "10 A or 12 mA"
)
SIZE: Final = Quantity(
    "size", {"B": Fraction(1), "kB": Fraction(1000), "MB": Fraction(10**6)}, "1500 B or 2 kB"
)


def _current(value: Any) -> int:  # noqa: ANN401 - what YAML holds
    return CURRENT.whole(value)


def _duration(value: Any) -> int:  # noqa: ANN401 - what YAML holds
    return DURATION.whole(value)


def _some_duration(value: Any) -> int:  # noqa: ANN401 - what YAML holds
    if (milliseconds := DURATION.whole(value)) == 0:
        raise sentence(f"{shown(value)} is no time at all, write for example {DURATION.example}")
    return milliseconds


def _proportion(value: Any) -> float:  # noqa: ANN401 - what YAML holds
    proportion = PER_CENT.read(value)
    if proportion > 1:
        raise sentence(f"{shown(value)} is too much, at most 100 %")
    return float(proportion)


def _size(value: Any) -> int:  # noqa: ANN401 - what YAML holds
    return SIZE.whole(value)


_LENGTH = re.compile(
    r"(?P<whole>[0-9]{1,9}(\.[0-9]{1,9})?)(/(?P<part>[0-9]{1,9}))? ?(?P<unit>mm|cm|m)"
)
_LENGTH_PATTERN = r"^[0-9]{1,9}(\.[0-9]{1,9})?(/[0-9]{1,9})? ?(mm|cm|m)$"
_MILLIMETRES = {"mm": 1, "cm": 10, "m": 1000}


def _length(value: Any) -> Fraction:  # noqa: ANN401 - what YAML holds
    """Millimetres, exactly: 1000/60 mm a pixel adds up to a metre only as a fraction."""
    example = "write for example 16.7 mm or 1000/60 mm"
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        raise sentence(f"{value} has no unit, {example}")
    text = value if isinstance(value, str) else ""
    if re.fullmatch(r"[0-9.]+(/[0-9]+)?", text):
        raise sentence(f"{shown(value)} has no unit, {example}")
    found = _LENGTH.fullmatch(text)
    if not found or int(found["part"] or 1) == 0:
        raise sentence(f"{shown(value)} is no length, {example}")
    length = Fraction(found["whole"]) / int(found["part"] or 1) * _MILLIMETRES[found["unit"]]
    if length == 0:
        raise sentence(f"{shown(value)} is no length at all, {example}")
    return length


@dataclass(frozen=True, slots=True)
class Rate:
    """At most ``count`` in any window of ``window_ms``."""

    count: int
    window_ms: int


_RATE_PATTERN = r"^[1-9][0-9]{0,3}/(s|min)$"


def _rate(value: Any) -> Rate:  # noqa: ANN401 - what YAML holds
    if not isinstance(value, str) or not re.fullmatch(_RATE_PATTERN, value):
        raise sentence(f"{shown(value)} is no rate, write for example 4/s or 30/min")
    count, unit = value.split("/")
    return Rate(int(count), 1000 if unit == "s" else 60_000)


#: Milliseconds.
Duration = Annotated[int, *patterned(DURATION.pattern, _duration)]
#: Milliseconds, more than none.
SomeTime = Annotated[int, *patterned(DURATION.pattern, _some_duration)]
#: Microamperes, written in A or mA.
Current = Annotated[int, *patterned(CURRENT.pattern, _current)]
#: 0..1, written in %.
Proportion = Annotated[float, *patterned(PER_CENT.pattern, _proportion)]
#: Bytes.
Size = Annotated[int, *patterned(SIZE.pattern, _size)]
#: Millimetres.
Length = Annotated[Fraction, *patterned(_LENGTH_PATTERN, _length)]
Requests = Annotated[Rate, *patterned(_RATE_PATTERN, _rate)]
