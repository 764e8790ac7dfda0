"""Faults are switched by name, and what is no fault is said."""

from __future__ import annotations

import pytest

from bridge.simulator.faults import Faults


def test_some_are_switched_and_the_others_stay() -> None:
    """Until all is well again."""
    faults = Faults(hangs=True)
    faults.switch({"delay_ms": [5, 900], "bears": 4, "too_many": "hangs up"})
    assert faults == Faults(hangs=True, delay_ms=(5, 900), bears=4, too_many="hangs up")
    faults.clear()
    assert faults == Faults()


@pytest.mark.parametrize(
    ("wishes", "why"),
    [
        ({"sulks": True}, "no fault is called sulks, expected delay_ms, status"),
        ({"loses": -1}, "loses: Input should be greater than or equal to 0"),
        ({"loses": "many"}, "loses: "),
        ({"delay_ms": 5}, "delay_ms: "),
        ({"hangs_up_after": "lunch"}, "hangs_up_after: Input should be 'never'"),
        ({"hangs": True, "coarse": 0}, "coarse: "),
    ],
)
def test_what_is_no_fault_is_said_and_changes_nothing(wishes: dict[str, object], why: str) -> None:
    """By its name, with what was expected."""
    faults = Faults()
    with pytest.raises(ValueError, match="^" + why):
        faults.switch(wishes)
    assert faults == Faults()
