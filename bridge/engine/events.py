"""What can happen to the core: a closed union of frozen, serialisable events.

The ``Moment`` that goes with an event of I/O is the instant at which its bytes were read. The
order at a start is ``Started``, ``Restored`` (not where nothing is kept), ``Settings``; nothing is
decided before the last.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TypeAlias

from bridge.engine.records import StateRecord
from bridge.engine.site import Site
from bridge.engine.wishes import Wish

#: The source of everything that is polled; no broker may bear this name.
HTTP_SOURCE = "http"


@dataclass(frozen=True, slots=True)
class Started:
    """The core begins. ``seed`` names this start and decides all its jitter."""

    seed: str


@dataclass(frozen=True, slots=True)
class Restored:
    """What an earlier start left: the last state under each key.

    ``heard_until_wall_ms``: until when that start is known to have run.
    """

    records: tuple[StateRecord, ...]
    heard_until_wall_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Settings:
    """A site that is already fully checked; written down as its digest and its files' text."""

    site: Site
    digest: str


@dataclass(frozen=True, slots=True)
class Clock:
    """The wall clock became known or was stepped; the event's moment carries it."""


@dataclass(frozen=True, slots=True)
class SourceUp:
    """A source is subscribed, not merely connected.

    ``refused`` are topic filters that the broker does not let us hear: silence on them says
    nothing, and above all not that there is no fault.
    """

    source: str
    refused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SourceLost:
    """A source is gone; nothing more is heard from it until it is up again."""

    source: str
    why: str


@dataclass(frozen=True, slots=True)
class Heard:
    """A message arrived, or a poll was answered; ``body`` is ``None`` where it is unchanged (304).

    ``address`` is the MQTT topic, or the endpoint's id with ``source`` ``http``.
    """

    source: str
    address: str
    body: bytes | None
    retained: bool = False


@dataclass(frozen=True, slots=True)
class TooLarge:
    """A message arrived that no printer's state is as long as; nothing of its body was kept.

    ``size`` is in bytes. It is one more message that cannot be read: never taken for silence.
    """

    source: str
    address: str
    size: int
    retained: bool = False


@dataclass(frozen=True, slots=True)
class PollFailed:
    """A poll had no usable answer; ``retry_after_ms`` is what the printer asked for."""

    address: str
    why: str
    retry_after_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Answered:
    """A controller answered ``request`` (an action's number)."""

    request: int
    status: int
    body: bytes
    #: What the controller asked to be waited, from Retry-After, in ms.
    retry_after_ms: int | None = None


class Fate(Enum):
    """What may have become of a request that was not answered."""

    NEVER_LEFT = "never left"
    MAYBE_APPLIED = "maybe applied"


@dataclass(frozen=True, slots=True)
class Unanswered:
    """A controller did not answer ``request``."""

    request: int
    fate: Fate
    why: str


@dataclass(frozen=True, slots=True)
class Recorded:
    """The record of this number, and every one before it, is kept."""

    number: int


@dataclass(frozen=True, slots=True)
class NotRecorded:
    """The record of this number is not kept: nothing is, until ``Recorded`` says otherwise."""

    number: int
    why: str


@dataclass(frozen=True, slots=True)
class Wished:
    """Somebody wishes something; ``token`` goes back with the answer."""

    token: str
    who: str
    wish: Wish


@dataclass(frozen=True, slots=True)
class Due:
    """The deadline that the core gave was reached."""


@dataclass(frozen=True, slots=True)
class Stopping:
    """The service is about to end: nothing new is sent."""


Event: TypeAlias = (
    Started
    | Restored
    | Settings
    | Clock
    | SourceUp
    | SourceLost
    | Heard
    | TooLarge
    | PollFailed
    | Answered
    | Unanswered
    | Recorded
    | NotRecorded
    | Wished
    | Due
    | Stopping
)
