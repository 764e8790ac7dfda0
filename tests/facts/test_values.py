"""What a fact can be, as a person reads it."""

from __future__ import annotations

import pytest

from bridge.facts.values import Reason, Reasons, Severity, Unknown, Why

EMPTY = Reason("material-empty", Severity.ERROR, "material-empty-error")
EMPTY_WARNING = Reason("material-empty", Severity.WARNING, "material-empty-warning")
OPEN = Unknown(Why.UNMAPPED, "lid")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Unknown(Why.NOT_HEARD), "unknown (nothing heard yet)"),
        (Unknown(Why.NOT_FRESH, "phase"), "unknown (not heard for too long: phase)"),
        (Reasons(()), "none"),
        (Reasons((EMPTY,)), "material-empty-error"),
        (Reasons((), OPEN), "none, perhaps more (unknown (a word without a mapping: lid))"),
    ],
)
def test_str(value: object, text: str) -> None:
    """One short line."""
    assert str(value) == text


def test_reasons_are_complete_when_nothing_is_open() -> None:
    """No other reason can hold."""
    assert Reasons((EMPTY,)).complete
    assert not Reasons((EMPTY,), OPEN).complete


def test_a_worse_reason_is_another_reason() -> None:
    """A warning that turns into an error must be noticed."""
    assert EMPTY != EMPTY_WARNING
    assert Reasons((EMPTY,)) != Reasons((EMPTY_WARNING,))
    assert sorted([EMPTY, EMPTY_WARNING]) == [EMPTY_WARNING, EMPTY]
