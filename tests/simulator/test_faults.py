"""Faults are switched by name, and what is no fault is said."""

from __future__ import annotations

from dataclasses import asdict

import pytest

from bridge.simulator.faults import Faults

#: Something that each of them can be, all at once.
EVERYTHING = {
    "delay_ms": [5, 900],
    "status": 503,
    "refuses": 1,
    "loses": 2,
    "says_no": 3,
    "hangs": True,
    "drops": True,
    "off": True,
    "bears": 4,
    "too_many": "hangs up",
    "one_connection": True,
    "hangs_up_after": "unannounced",
    "coarse": 32,
    "fades_ms": 700,
    "identity": "another",
}


def test_every_fault_can_be_switched() -> None:
    """And nothing is left out."""
    faults = Faults()
    faults.switch(EVERYTHING)
    assert asdict(faults) == EVERYTHING | {"delay_ms": (5, 900)}


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
        ({"loses": -1}, "loses: -1 is none, expected a whole number from 0"),
        ({"loses": True}, "loses: True is none"),
        ({"loses": "many"}, "loses: 'many' is none"),
        ({"delay_ms": 5}, r"delay_ms: 5 is none, expected \[least, most\]"),
        ({"delay_ms": [5, "x"]}, "delay_ms: "),
        ({"hangs_up_after": "lunch"}, "hangs_up_after: 'lunch' is none, expected never, as"),
        ({"hangs": True, "coarse": 0}, "coarse: 0 is none"),
        ({"too_many": ["busy"]}, "too_many: "),
        ({"identity": 5}, "identity: 5 is none, expected a text"),
    ],
)
def test_what_is_no_fault_is_said_and_changes_nothing(wishes: dict[str, object], why: str) -> None:
    """By its name, with what was expected."""
    faults = Faults()
    with pytest.raises(ValueError, match="^" + why):
        faults.switch(wishes)
    assert faults == Faults()
