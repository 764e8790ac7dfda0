"""Facts in words."""

from __future__ import annotations

import pytest

from bridge.facts.values import FactValue, Unknown, Why
from bridge.rules.fact_words import duration_words, fact_words, time_words


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("local-time", 22 * 3600.0 + 61, "22:01:01"),
        ("local-time", 6 * 3600.0, "06:00"),
        ("time-in-state", 660.25, "11m"),
        ("time-in-state", 0.25, "250ms"),
        ("time-to-completion", 3723.0, "3723s"),
        ("progress", 0.42, "0.42"),
        ("state", "idle", "idle"),
        ("stale", True, "true"),
        ("time-in-state", Unknown(Why.NO_CLOCK), "unknown (the wall clock is not known)"),
    ],
)
def test_times_stand_as_people_write_them(name: str, value: FactValue, words: str) -> None:
    """The rest as it is."""
    assert fact_words(name, value) == words


def test_a_duration_stands_in_its_largest_exact_unit() -> None:
    """So that it can be written into a file."""
    durations = [0.0, 1.5, 90.0, 1200.0, 7200.0, 172_800.0]
    assert [duration_words(each) for each in durations] == [
        "0s",
        "1500ms",
        "90s",
        "20m",
        "2h",
        "2d",
    ]
    assert time_words(59.0) == "00:00:59"
