"""What the core wants done: a closed union of frozen, serialisable actions.

The shells perform them in order and decide nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from bridge.engine.records import Happening, StateRecord
from bridge.lights.dialect.dialect import Purpose

Scalar: TypeAlias = str | int | float | bool | None


@dataclass(frozen=True, slots=True)
class Request:
    """Send this to a controller and report ``Answered`` or ``Unanswered`` with its number.

    ``target`` is path and query, ready to go on the wire. ``purpose`` is for logs and metrics.
    Where a kept connection turns out to be dead, one with an idempotent method is repeated once.
    """

    number: int
    controller: str
    purpose: Purpose
    method: str
    target: str
    headers: tuple[tuple[str, str], ...]
    body: bytes | None
    timeout_ms: int
    #: The segments it is about.
    segments: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Poll:
    """Ask this endpoint now; report ``Heard`` or ``PollFailed``.

    ``whole``: what it said last is no longer held, so "unchanged" would say nothing.
    """

    address: str
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Ask:
    """Publish or post this so that a printer speaks; nothing is reported."""

    source: str
    address: str
    payload: bytes
    printer: str
    name: str


@dataclass(frozen=True, slots=True)
class Record:
    """Keep this; report ``Recorded`` or ``NotRecorded`` with its number.

    A ``durable`` one must survive a power cut before it is reported as recorded; what happened is
    history and may be batched, and is not reported at all.
    """

    number: int
    what: StateRecord | Happening
    durable: bool = False


@dataclass(frozen=True, slots=True)
class Tell:
    """The answer to the wish of this token.

    ``taken`` is whether it was granted; ``kept`` is whether a restart will still know of it;
    ``why`` says in words what came of it, or why nothing did.
    """

    token: str
    taken: bool
    kept: bool
    why: str


@dataclass(frozen=True, slots=True)
class Publish:
    """Publish this message; nothing is reported."""

    source: str
    topic: str
    payload: bytes


@dataclass(frozen=True, slots=True)
class Note:
    """Something for the log: one event with its fields."""

    level: Literal["debug", "info", "warning", "error"]
    event: str
    fields: Mapping[str, Scalar] = field(default_factory=dict)


Action: TypeAlias = Request | Poll | Ask | Record | Tell | Publish | Note
