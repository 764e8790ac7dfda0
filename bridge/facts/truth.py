"""Three-valued truth (Kleene's strong tables): the only place where ``unknown`` is combined."""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum


class Truth(Enum):
    """What is known of a statement."""

    TRUE = "true"
    FALSE = "false"
    UNKNOWN = "unknown"

    def __bool__(self) -> bool:
        """Refuse: an unknown must never slip through an ``if``."""
        raise TypeError("a three-valued truth is not a bool: compare with Truth.TRUE")


def truth_of(known: bool) -> Truth:  # noqa: FBT001 - the one bridge from two values to three
    """Lift a two-valued result."""
    return Truth.TRUE if known else Truth.FALSE


#: ``not`` of each truth: the negation of an unknown is unknown, never true.
NOT = {Truth.TRUE: Truth.FALSE, Truth.FALSE: Truth.TRUE, Truth.UNKNOWN: Truth.UNKNOWN}


def all_of(truths: Iterable[Truth]) -> Truth:
    """Conjunction: false wins, then unknown; true for none."""
    unknown = False
    for truth in truths:
        if truth is Truth.FALSE:
            return Truth.FALSE
        unknown = unknown or truth is Truth.UNKNOWN
    return Truth.UNKNOWN if unknown else Truth.TRUE
