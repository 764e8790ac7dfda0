"""What an alternative of a reader says a word, a code or a bit means, by the kind of the fact."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from bridge.facts.reader import Scalar
from bridge.facts.reasons import NONE, ReasonError, parse_reason
from bridge.facts.values import Severity
from bridge.facts.vocabulary import SITE_PREFIX, UNKNOWN_WORD, FactName, Kind
from bridge.settings.nearest import meant, shown
from bridge.settings.spot import Spot

Meaning = str | tuple[str, ...]


def values_of(fact: FactName, values: dict[Any, Any], spot: Spot) -> dict[Scalar, Meaning]:
    """``values`` for a fact, with a problem at each meaning that it cannot have."""
    if fact.kind is Kind.NUMBER:
        spot.wrong_key(f"gives words, {fact.name} is a number")
        return {}
    meanings: dict[Scalar, Meaning] = {}
    for word, meaning in values.items():
        found = meaning_of(fact, meaning, spot.at(word))
        if found is not None:
            meanings[word] = found
    return meanings


def meaning_of(fact: FactName, meaning: Any, spot: Spot) -> Meaning | None:  # noqa: ANN401
    """One word's meaning for a fact that is no number."""
    if fact.kind is Kind.REASONS:
        return keywords_of(meaning, spot)
    if not isinstance(meaning, str):
        spot.wrong(f"is {shown(meaning)}, expected one word for {fact.name}")
        return None
    if fact.kind is Kind.SYMBOL and meaning not in (*fact.symbols, UNKNOWN_WORD):
        spot.wrong(f"{shown(meaning)} is no {fact.name}{meant(meaning, fact.symbols)}")
        return None
    return meaning


def keywords_of(meaning: Any, spot: Spot) -> tuple[str, ...] | None:  # noqa: ANN401
    """Reasons as they were written; the empty tuple for ``none``."""
    if meaning in (NONE, []):
        return ()
    words: Iterable[tuple[Any, Spot]] = [(meaning, spot)]
    if isinstance(meaning, list):
        words = [(word, spot.at(index)) for index, word in enumerate(meaning)]
    right = [_is_reason(word, at) for word, at in words]
    return tuple(word for word, _ in words) if all(right) else None


def _is_reason(word: Any, spot: Spot) -> bool:  # noqa: ANN401
    if not isinstance(word, str):
        spot.wrong(f"is {shown(word)}, expected a reason such as material-empty")
        return False
    try:
        parse_reason(word)
    except ReasonError as error:
        spot.wrong(str(error))
        return False
    return True


def severities_of(values: dict[Any, str]) -> dict[Scalar, Severity]:
    """How severe each word says that a reason is."""
    return {word: Severity[severity.upper()] for word, severity in values.items()}


def given_of(fact: FactName, gives: Any, spot: Spot) -> Scalar | tuple[str, ...]:  # noqa: ANN401
    """What ``gives`` is for a fact; ``None`` and a problem where it cannot be."""
    if fact.kind is Kind.REASONS:
        return keywords_of(gives, spot)
    if isinstance(gives, list):
        spot.wrong(f"is a list, expected one value for {fact.name}")
        return None
    if fact.kind is not Kind.NUMBER:
        is_own = fact.name.startswith(SITE_PREFIX) and isinstance(gives, (bool, int, float))
        return gives if is_own else meaning_of(fact, gives, spot)
    if isinstance(gives, bool) or not isinstance(gives, (int, float)):
        spot.wrong(f"is {shown(gives)}, expected a number for {fact.name}")
        return None
    below = fact.least is not None and gives < fact.least
    above = fact.most is not None and gives > fact.most
    if below or above:
        spot.wrong(f"{gives} is outside what {fact.name} can be")
    return gives


_NUMBER_UNITS: Final[dict[str, dict[str, tuple[float, float]]]] = {
    # Temperatures in °C: factor and offset.
    "°C": {"°C": (1.0, 0.0), "°F": (5 / 9, -160 / 9), "K": (1.0, -273.15)},
    "s": {"s": (1.0, 0.0), "ms": (0.001, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0)},
    "%": {"%": (0.01, 0.0)},
}
DURATION_FORMS: Final = ("h:m:s", "iso 8601")


def units_for(fact: FactName) -> dict[str, tuple[float, float]]:
    """The units that a fact's raw number may be in, with factor and offset to its own."""
    if fact.name.startswith(SITE_PREFIX):
        return {unit: how for units in _NUMBER_UNITS.values() for unit, how in units.items()}
    if fact.most == 1.0:
        return _NUMBER_UNITS["%"]
    return _NUMBER_UNITS.get(fact.unit, {})
