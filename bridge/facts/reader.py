"""A reader: which messages a printer sends and where in them its facts are.

These are the frozen shapes that the settings are translated to; ``facts.reading`` evaluates them.
Times are milliseconds, temperatures °C, fractions 0..1. A reader is made for one printer: the
placeholders of its ``with`` parameters are already filled in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Literal, TypeAlias

from bridge.facts.places import Place
from bridge.facts.values import Severity

Scalar: TypeAlias = str | int | float | bool | None


class EndsAt(Enum):
    """How a message writes the instant at which a job ends."""

    EPOCH_S = "epoch s"
    EPOCH_MS = "epoch ms"
    ISO = "iso 8601"
    CLOCK = "clock"


@dataclass(frozen=True, slots=True)
class Unit:
    """What a raw 1 means in the fact's own unit: ``value = raw * factor + offset``.

    ``text`` is as written (``0.1 °C``, ``°F``, ``min``). ``form`` is set where the raw value is
    not a plain number: ``h:m:s`` or ``iso 8601`` durations.
    """

    text: str
    factor: float = 1.0
    offset: float = 0.0
    form: Literal["number", "h:m:s", "iso 8601"] = "number"


@dataclass(frozen=True, slots=True)
class Interval:
    """Numbers between stated ends; ``None`` is open-ended."""

    least: float | None = None
    most: float | None = None
    least_included: bool = True
    most_included: bool = True

    def holds(self, value: float) -> bool:
        """Whether the value lies inside."""
        if self.least is not None and (
            value < self.least or (value == self.least and not self.least_included)
        ):
            return False
        return self.most is None or not (
            value > self.most or (value == self.most and not self.most_included)
        )


@dataclass(frozen=True, slots=True)
class Is:
    """The test of an alternative: one of these values, within an interval, or a bit that is set."""

    values: tuple[Scalar, ...] = ()
    interval: Interval | None = None
    bit: int | None = None


@dataclass(frozen=True, slots=True)
class Also:
    """A further test of an alternative, at a place of its own; all must hold.

    ``is_`` is ``None`` where the place must be absent.
    """

    at: Place
    is_: Is | None


@dataclass(frozen=True, slots=True)
class Graded:
    """Where a word or code says how severe a reason is, and what each of them means."""

    at: Place
    values: Mapping[Scalar, Severity]


@dataclass(frozen=True, slots=True)
class SentAt:
    """Where a message carries the instant it was sent."""

    at: Place
    form: EndsAt


@dataclass(frozen=True, slots=True)
class Only:
    """What tells a message from others on the same address: a place with one of these values."""

    at: Place
    values: tuple[Scalar, ...]


@dataclass(frozen=True, slots=True)
class Message:
    """One named message of a printer.

    ``fresh_for_ms`` is inclusive; where it is ``None`` the message is fresh while the link is up,
    and a message that only the ``link`` fact reads is fresh while its source is up.
    ``every_ms`` is how often it is expected, for ``check`` only.
    """

    name: str
    kind: Literal["json", "text"]
    fresh_for_ms: int | None
    required: bool = False
    joins: Literal["replace", "patch"] = "replace"
    full: Place | None = None
    retained: Literal["distrust", "trust"] = "distrust"
    sent_at: SentAt | None = None
    beat: Place | None = None
    every_ms: int | None = None
    #: The printer's own part of a body that is about several; it must be there exactly once.
    within: Place | None = None
    #: What arrives on its address and is not this is another message, and changes nothing here.
    only: Only | None = None


@dataclass(frozen=True, slots=True)
class Form:
    """Named parts of a text: ``{layer} of {layers}``. Spaces match any run of spaces.

    A part that bears a fact's name gives that fact after the fact's own alternatives; others are
    read by ``Alternative.part``; ``{_}`` is passed over.
    """

    message: str
    text: str
    at: Place | None = None
    #: Facts that a text of this form gives besides its parts.
    gives: tuple[tuple[str, Scalar | tuple[str, ...]], ...] = ()


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to find one fact's value.

    The raw value is the text or the document of ``message`` (at ``at``), a ``part`` of its forms,
    or the nth ``wildcard`` of its address (from 1); or the ``ratio`` of two other facts. First
    ``also`` is asked, then, in this order: ``unless`` (means nothing, as if the place were
    absent), ``no_value`` (unknown), ``is_`` with ``gives``, ``split`` (one text to several
    words), ``values`` or ``bits``, ``minus``, ``of``, ``unit``, ``scale``, ``ends_at``,
    ``least`` and ``most``.
    """

    message: str = ""
    at: Place | None = None
    part: str | None = None
    #: The text must have this form, whichever parts it has.
    form: str | None = None
    wildcard: int | None = None
    #: For reasons: the texts of this wildcard that must have been heard, or there may be more.
    expects: tuple[str, ...] = ()
    ratio: tuple[str, str] | None = None
    also: tuple[Also, ...] = ()
    #: For reasons: the list whose elements are read one by one; places are then places in one.
    each: Place | None = None
    unless: tuple[Scalar, ...] = ()
    no_value: tuple[Scalar, ...] = ()
    is_: Is | None = None
    #: A symbol, a number, or (for reasons) keywords.
    gives: Scalar | tuple[str, ...] = None
    split: str | None = None
    #: Word or code to symbol, or (for reasons) to keywords; the empty tuple is ``none``.
    values: Mapping[Scalar, str | tuple[str, ...]] | None = None
    #: For reasons: a word that is not in ``values`` gives no reason, instead of an unknown one.
    others_none: bool = False
    bits: Mapping[int, tuple[str, ...]] | None = None
    #: In which base a text writes a number with bits.
    base: Literal[2, 10, 16] = 10
    #: For reasons: the words are the names of an object's members that are true.
    flags: bool = False
    #: For reasons: how severe they are, where that is said apart; keywords then have no suffix.
    severity: Graded | None = None
    #: For reasons: that the place is absent says that there is none.
    absent_none: bool = False
    minus: Place | None = None
    of: Place | None = None
    unit: Unit | None = None
    scale: tuple[float, float] | None = None
    ends_at: EndsAt | None = None
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True, slots=True)
class FactRule:
    """How one fact is found: ordered alternatives or, for reasons, a union of them."""

    fact: str
    alternatives: tuple[Alternative, ...]
    union: bool = False
    #: For reasons: a place or a wildcard on which nothing arrived gives no reason.
    absent_none: bool = False


@dataclass(frozen=True, slots=True)
class Reader:
    """A reader, made for one printer."""

    name: str
    messages: Mapping[str, Message]
    facts: Mapping[str, FactRule]
    forms: tuple[Form, ...] = ()
    #: Every fact that it can give, from ``facts`` and ``forms`` (never ``stale``).
    offers: frozenset[str] = field(default_factory=frozenset)


@dataclass(frozen=True, slots=True)
class Input:
    """Where a printer's message comes from: an MQTT topic filter of a broker, or an endpoint.

    ``source`` is the broker's name, or ``http``; ``address`` the filter, or the endpoint's id.
    """

    message: str
    source: str
    address: str
