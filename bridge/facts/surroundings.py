"""What the facts of a printer are judged by besides what its documents say."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from bridge.facts.documents import MessageState
from bridge.facts.held import Held
from bridge.facts.moment import Moment
from bridge.facts.values import FactValue, Unknown, Why


@dataclass(frozen=True, slots=True)
class UnmappedWord:
    """A word without a mapping, as ``codes.written`` writes it, and where it was met.

    ``alternative``: which of the fact's alternatives read it, from 0.
    """

    fact: str
    word: str
    message: str
    address: str
    alternative: int = 0


@dataclass(slots=True)
class Surroundings:
    """What a printer's facts look at besides the documents."""

    facts: dict[str, FactValue]
    link_up: bool
    #: Words without a mapping that were met since this was last emptied.
    unmapped: list[UnmappedWord]


Evaluate: TypeAlias = Callable[[Moment], FactValue]


def why_not(held: Held, state: MessageState, around: Surroundings) -> Unknown | None:
    """Why a document does not count now, or ``None``."""
    if held.why is not None:
        return Unknown(held.why, state.name)
    if state.while_link and not around.link_up:
        return Unknown(Why.LINK_NOT_UP, state.name)
    return None
