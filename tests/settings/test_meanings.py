"""What words, codes and bits mean for each kind of fact."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.facts.vocabulary import FACTS
from bridge.settings.document import parse
from bridge.settings.meanings import given_of, meaning_of, units_for
from bridge.settings.spot import Spot

RIGHT: list[tuple[str, Any, Any]] = [
    ("state", "idle", "idle"),
    ("state", "unknown", "unknown"),
    ("job", "no-value", "no-value"),
    ("link", "down", "down"),
    ("job-name", "anything at all", "anything at all"),
    ("reasons", "material-empty", ("material-empty",)),
    ("reasons", "material-empty-error", ("material-empty-error",)),
    ("reasons", ["door-open", "site-noise"], ("door-open", "site-noise")),
    ("reasons", "none", ()),
    ("reasons", [], ()),
]


@pytest.mark.parametrize(("fact", "meaning", "found"), RIGHT)
def test_a_meaning_is_kept_as_written(fact: str, meaning: Any, found: Any) -> None:  # noqa: ANN401
    """Keywords keep their suffix."""
    spot = _spot()
    assert meaning_of(FACTS[fact], meaning, spot) == found
    assert spot.problems == []


WRONG: list[tuple[str, Any, str]] = [
    ("state", "idel", "'idel' is no state; did you mean 'idle'?"),
    ("state", ["idle"], "is a list, expected one word for state"),
    ("reasons", "material-emtpy", "'material-emtpy' is not a registered reason: did you mean"),
    ("reasons", ["none", "other"], "'none' says that there is no reason"),
    ("reasons", [5], "is 5, expected a reason such as material-empty"),
]


@pytest.mark.parametrize(("fact", "meaning", "message"), WRONG)
def test_a_meaning_that_cannot_be_is_told(fact: str, meaning: Any, message: str) -> None:  # noqa: ANN401
    """With the nearest that can."""
    spot = _spot()
    assert meaning_of(FACTS[fact], meaning, spot) is None
    (problem,) = spot.problems
    assert problem.message.startswith(f"word: {message}")


def test_a_given_number_lies_within_its_fact() -> None:
    """A share is not above one; a layer may be any number."""
    spot = _spot()
    assert given_of(FACTS["layer"], 300, spot) == 300
    assert spot.problems == []
    refused: tuple[object, ...] = (1.5, True, "half")
    for value in refused:
        given_of(FACTS["progress"], value, spot)
    assert [problem.message for problem in spot.problems] == [
        "word: 1.5 is outside what progress can be",
        "word: is true, expected a number for progress",
        "word: is 'half', expected a number for progress",
    ]


UNITS = [
    ("progress", {"%"}),
    ("layer", set()),
    ("chamber-setpoint", {"°C", "°F", "K"}),
    ("time-to-completion", {"s", "ms", "min", "h"}),
]


@pytest.mark.parametrize(("fact", "units"), UNITS)
def test_a_fact_has_the_units_of_its_kind(fact: str, units: set[str]) -> None:
    """Minutes are no temperature."""
    assert set(units_for(FACTS[fact])) == units


def _spot() -> Spot:
    return Spot(parse("readers/a.yaml", "word: 1\n")[0], []).at("word")
