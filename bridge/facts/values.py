"""What a fact can be: a known value, or unknown with the reason why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TypeAlias


class Why(Enum):
    """Why a fact is unknown; the text is what a person reads."""

    NOT_OFFERED = "its reader never offers it"
    NOT_HEARD = "nothing heard yet"
    NOT_FRESH = "not heard for too long"
    OUT_OF_ORDER = "older than one that was heard before it"
    NOT_FULL = "only patches heard so far, no whole document"
    RETAINED_DIFFERS = "a stored message differs from what was heard"
    CLEARED = "the message was cleared"
    UNREADABLE = "the last message could not be read"
    LINK_NOT_UP = "the printer's link is not up"
    SOURCE_LOST = "the source is not connected"
    STUCK = "the place that must move stands still"
    NO_CLOCK = "the wall clock is not known"
    ABSENT = "the place is not in the message"
    UNMAPPED = "a word without a mapping"
    NO_VALUE = "the printer says it has no value"
    OUT_OF_RANGE = "outside what it can be"
    WRONG_TYPE = "not the kind of value expected"
    INCOMPLETE = "not every reason can be known"
    UNJUDGED = "what it depends on is not known"


@dataclass(frozen=True, slots=True)
class Unknown:
    """A fact that is not known. ``detail`` names the message, the place or the word."""

    why: Why
    detail: str = ""

    def __str__(self) -> str:
        return f"unknown ({self.why.value}{': ' + self.detail if self.detail else ''})"


class Severity(Enum):
    """Of a reason, mildest first (RFC 8011 §5.4.12); ``NEUTRAL`` names a sub-state, no trouble."""

    NEUTRAL = 0
    REPORT = 1
    WARNING = 2
    ERROR = 3


@dataclass(frozen=True, slots=True)
class Reason:
    """One printer-state reason: the registered keyword without its suffix, and its severity.

    Equal only with equal severities: a warning that turns into an error is a change. Sorted by
    keyword, then mildest first.
    """

    keyword: str
    severity: Severity
    #: As it was said, suffix included.
    said: str

    def __lt__(self, other: Reason) -> bool:
        return (self.keyword, self.severity.value) < (other.keyword, other.severity.value)


@dataclass(frozen=True, slots=True)
class Reasons:
    """The known reasons, and whether these are all (``open_because`` says why not).

    ``known`` is sorted by keyword; two reasons may share a keyword with unlike severities.
    """

    known: tuple[Reason, ...]
    open_because: Unknown | None = None

    @property
    def complete(self) -> bool:
        """True when no other reason can hold."""
        return self.open_because is None

    def __str__(self) -> str:
        words = ", ".join(reason.said for reason in self.known) or "none"
        return words if self.complete else f"{words}, perhaps more ({self.open_because})"


FactValue: TypeAlias = str | float | bool | Reasons | Unknown
#: A printer's facts by name. A name that is missing is ``Unknown(NOT_OFFERED)``.
Facts: TypeAlias = Mapping[str, FactValue]
