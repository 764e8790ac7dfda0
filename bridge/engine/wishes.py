"""What a person may ask of a running site: a closed union of frozen, serialisable wishes.

Each about an alarm or a prompt names its occurrence, so that a late one cannot silence a newer.
Times that cross a start are wall times.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Acknowledge:
    """I have seen this occurrence of an alarm."""

    occurrence: str


@dataclass(frozen=True, slots=True)
class Reset:
    """End what latched."""

    occurrence: str


@dataclass(frozen=True, slots=True)
class Collected:
    """What this occurrence of a prompt wanted is done."""

    occurrence: str


@dataclass(frozen=True, slots=True)
class Shelve:
    """Put an alarm of a printer aside for ``for_ms``; it comes back by itself."""

    alarm: str
    printer: str
    for_ms: int
    reason: str


@dataclass(frozen=True, slots=True)
class Unshelve:
    """Take it back before its time."""

    alarm: str
    printer: str


@dataclass(frozen=True, slots=True)
class OutOfService:
    """Take an alarm of a printer out of service until somebody returns it."""

    alarm: str
    printer: str
    reason: str


@dataclass(frozen=True, slots=True)
class ReturnToService:
    """Back in service."""

    alarm: str
    printer: str


@dataclass(frozen=True, slots=True)
class Hold:
    """These segments, or sets of them, show ``scene``; ``for_ms`` is ``None`` for until released.

    Where a segment has printers it must end and say ``resting``.
    """

    segments: tuple[str, ...]
    scene: str
    for_ms: int | None


@dataclass(frozen=True, slots=True)
class Release:
    """These segments, or sets of them, are held no more."""

    segments: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Press:
    """A push-button: whatever waits now is acknowledged, reset or collected.

    It cannot name occurrences, so it means those that stand at the instant it was heard.
    ``printers`` and ``names`` (alarms or prompts) narrow it; empty means all.
    """

    wish: str  # "acknowledge", "reset" or "collected"
    printers: tuple[str, ...] = ()
    names: tuple[str, ...] = ()


Wish: TypeAlias = (
    Acknowledge
    | Reset
    | Collected
    | Shelve
    | Unshelve
    | OutOfService
    | ReturnToService
    | Hold
    | Release
    | Press
)
