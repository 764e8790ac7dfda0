"""A frozen picture of all that is known and shown, for page, dry run, explain and metrics."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bridge.facts.values import FactValue
from bridge.facts.words import WordRecord
from bridge.lights.contact import Contact
from bridge.lights.desire import Kept
from bridge.lights.look import Look
from bridge.lights.standing import Standing


@dataclass(frozen=True, slots=True)
class PrinterView:
    """One printer: its facts, the words its reader does not map, messages that were not taken."""

    name: str
    facts: Mapping[str, FactValue]
    words: tuple[WordRecord, ...]
    troubles: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SegmentView:
    """One segment: what decides, what it should show, and how sure it is that it does.

    ``rule`` is empty for a resting scene. ``passed_over``: rule and reason, in the table's order.
    """

    name: str
    controller: str
    printers: tuple[str, ...]
    pixels: int
    table: str
    rule: str
    because: str
    passed_over: tuple[tuple[str, str], ...]
    scene: str
    since_ms: int
    look: Look | None
    kept: Kept
    standing: Standing
    disagrees: bool
    #: The one of its printers that it speaks of now; empty where it speaks of none.
    printer: str = ""
    #: In words, how far it is dimmed and by what; empty where it is not.
    dimmed_by: str = ""


@dataclass(frozen=True, slots=True)
class ControllerView:
    """One controller: whether it answers, and since when something waits."""

    name: str
    contact: Contact
    detail: str
    restarts: int
    attempt: int
    busy: bool


@dataclass(frozen=True, slots=True)
class AlarmView:
    """One alarm of one printer.

    ``state`` is its state, ``shown`` how rules read it: the words of ``rules.alarm_states``.
    ``occurrence`` is ``None`` where none is open. ``since_ms`` is when it was raised.
    """

    alarm: str
    printer: str
    state: str
    shown: str
    occurrence: str | None
    priority: str
    since_wall_ms: int | None
    since_ms: int | None
    unconfirmed: bool
    escalated: bool
    standing: bool
    chattering: bool
    shelved_until_wall_ms: int | None
    cause: str
    response: str


@dataclass(frozen=True, slots=True)
class PromptView:
    """One prompt of one printer; ``since_ms`` is since when it waits."""

    prompt: str
    printer: str
    waiting: bool
    occurrence: str | None
    since_ms: int | None
    response: str


@dataclass(frozen=True, slots=True)
class HoldView:
    """A segment that somebody holds; without an end until it is released."""

    segment: str
    scene: str
    until_wall_ms: int | None
    until_ms: int | None
    who: str


@dataclass(frozen=True, slots=True)
class View:
    """Everything, at ``now_ms``. ``sources``: empty text for one that is up, else why it is not."""

    now_ms: int
    sources: Mapping[str, str]
    printers: Mapping[str, PrinterView]
    segments: Mapping[str, SegmentView]
    controllers: Mapping[str, ControllerView]
    counts: Mapping[str, int]
    alarms: tuple[AlarmView, ...] = ()
    prompts: tuple[PromptView, ...] = ()
    holds: tuple[HoldView, ...] = ()
