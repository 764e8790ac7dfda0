"""Times of the day, and the part of the day between two of them."""

from __future__ import annotations

import pytest

from bridge.rules.conditions import LOCAL_TIME
from bridge.settings.document import parse
from bridge.settings.problems import Problem
from bridge.settings.spot import Spot
from bridge.settings.times_of_day import time_of_day, time_span


def spot() -> tuple[Spot, list[Problem]]:
    """A place in an empty file, and what is found there."""
    problems: list[Problem] = []
    return Spot(parse("rules.yaml", "{}")[0], problems), problems


TIMES: list[tuple[object, float | None]] = [
    ("00:00", 0.0),
    ("06:30", 23_400.0),
    ("23:59:59", 86_399.0),
    ("24:00", None),
    ("6:30", None),
    ("06:60", None),
    ("06.30", None),
    (630, None),
    (None, None),
    (True, None),
]


@pytest.mark.parametrize(("value", "seconds"), TIMES)
def test_a_time_is_seconds_since_midnight(value: object, seconds: float | None) -> None:
    """Hours and minutes, with or without seconds; else one problem."""
    at, problems = spot()
    assert time_of_day(value, at) == seconds
    assert len(problems) == (seconds is None)


SPANS: list[tuple[object, object, dict[float, bool]]] = [
    ("22:00", "06:00", {79_199: False, 79_200: True, 0: True, 21_599: True, 21_600: False}),
    ("06:00", "22:00", {21_599: False, 21_600: True, 79_199: True, 79_200: False}),
    ("22:00", None, {79_199: False, 79_200: True, 86_399: True, 0: False}),
    (None, "06:00", {0: True, 21_599: True, 21_600: False, 86_399: False}),
]


@pytest.mark.parametrize(("begin", "before", "holds"), SPANS)
def test_a_span_holds_its_first_instant_and_not_its_last(
    begin: object, before: object, holds: dict[float, bool]
) -> None:
    """Over midnight where it ends earlier than it begins; a day ends at midnight."""
    at, problems = spot()
    span = time_span(begin, before, at)
    assert span is not None
    assert {at: span.test({LOCAL_TIME: at}).name == "TRUE" for at in holds} == holds
    assert problems == []


@pytest.mark.parametrize(("begin", "before"), [(None, None), ("06:00", "06:00"), (None, "00:00")])
def test_a_span_without_an_inside_is_one_problem(begin: object, before: object) -> None:
    """It would be always or never."""
    at, problems = spot()
    assert time_span(begin, before, at) is None
    assert len(problems) == 1
