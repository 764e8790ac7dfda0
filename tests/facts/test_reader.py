"""The shapes of a reader: the one that computes."""

from __future__ import annotations

import pytest

from bridge.facts.reader import Interval


@pytest.mark.parametrize(
    ("interval", "value", "holds"),
    [
        (Interval(), -1e300, True),
        (Interval(1.0), 1.0, True),
        (Interval(1.0), 0.999, False),
        (Interval(1.0, least_included=False), 1.0, False),
        (Interval(1.0, least_included=False), 1.001, True),
        (Interval(None, 5.0), 5.0, True),
        (Interval(None, 5.0), 5.001, False),
        (Interval(None, 5.0, most_included=False), 5.0, False),
        (Interval(1.0, 5.0, most_included=False), 4.999, True),
        (Interval(0.0, 0.0), 0.0, True),
    ],
)
def test_interval(interval: Interval, value: float, holds: bool) -> None:
    """Each end counts or does not, as stated."""
    assert interval.holds(value) is holds
