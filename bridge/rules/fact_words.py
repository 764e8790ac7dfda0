"""Facts in words, the same for log, page, explain and check."""

from __future__ import annotations

from typing import Final

from bridge.facts.values import FactValue
from bridge.facts.vocabulary import fact_named
from bridge.rules.conditions import LOCAL_TIME, shown

_SECONDS: Final = (("d", 86_400), ("h", 3600), ("m", 60), ("s", 1))


def fact_words(name: str, value: FactValue) -> str:
    """A fact's value; times as people write them."""
    if isinstance(value, float):
        if name == LOCAL_TIME:
            return time_words(value)
        fact = fact_named(name)
        if fact is not None and fact.unit == "s":
            return duration_words(float(int(value)) if value >= 1 else value)
    return shown(value)


def duration_words(seconds: float) -> str:
    """In the largest unit that is exact: ``20m``, ``90s``, ``1500ms``."""
    for unit, length in _SECONDS:
        if seconds >= length and seconds % length == 0:
            return f"{seconds / length:.0f}{unit}"
    return f"{seconds * 1000:.0f}ms" if seconds else "0s"


def time_words(seconds: float) -> str:
    """A time of the day, with its seconds where it has some."""
    minutes, rest = divmod(int(seconds), 60)
    return f"{minutes // 60:02}:{minutes % 60:02}" + (f":{rest:02}" if rest else "")
