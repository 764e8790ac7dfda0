"""The frozen shapes of alarms and prompts, as a site declares them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from bridge.rules.alarm_states import Sequence
from bridge.rules.conditions import Condition
from bridge.rules.table import Source

Priority: TypeAlias = Literal["low", "medium", "high"]


@dataclass(frozen=True, slots=True)
class Escalation:
    """What happens ``after_ms`` without an acknowledgement: more segments, a published message."""

    after_ms: int
    segments: tuple[str, ...] = ()
    #: The topic, or ``None`` for no message, and the broker that it is published to.
    publish: str | None = None
    broker: str = ""


@dataclass(frozen=True, slots=True)
class Alarm:
    """One alarm. All of ``when`` must hold for ``on_delay_ms``, and fail for ``off_delay_ms``.

    ``segments`` carry it besides those whose table names it, and so do those of ``escalate`` when
    it escalates: they show the scene ``show``.
    """

    name: str
    when: tuple[Condition, ...]
    on_delay_ms: int
    off_delay_ms: int
    sequence: Sequence
    priority: Priority
    cause: str
    response: str
    escalate: Escalation | None
    source: Source
    segments: tuple[str, ...] = ()
    show: str = ""

    @property
    def when_text(self) -> str:
        """What raises it, in words that do not depend on the order of writing."""
        return condition_text(self.when)


@dataclass(frozen=True, slots=True)
class Prompt:
    """A person is wanted and nothing is wrong. ``until`` is ``None`` where nothing but they end it.

    All of ``when`` must hold to raise it, all of ``until`` to end it.
    """

    name: str
    when: tuple[Condition, ...]
    until: tuple[Condition, ...] | None
    response: str
    source: Source

    @property
    def when_text(self) -> str:
        """What raises it, in words that do not depend on the order of writing."""
        return condition_text(self.when)


def condition_text(conditions: tuple[Condition, ...]) -> str:
    """Conditions in words, the same for the same ones: a record holds them to see an edit by."""
    return " and ".join(sorted(map(str, conditions)))


def facts_text(conditions: tuple[Condition, ...]) -> str:
    """The facts that conditions test, for whoever asks why it cannot be judged."""
    return ", ".join(sorted({condition.fact for condition in conditions}))
