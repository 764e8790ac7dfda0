"""Readers and printers for the tests of this room, with as little around them as can be."""

from __future__ import annotations

import json
from zoneinfo import ZoneInfo

from bridge.facts.moment import Moment
from bridge.facts.places import compile_place
from bridge.facts.printer import HeardResult, PrinterFacts
from bridge.facts.reader import Alternative, FactRule, Form, Input, Message, Reader

UTC = ZoneInfo("UTC")
BENCH = "bench"


def at(message: str, place: str, **rest: object) -> Alternative:
    """An alternative that reads a place of a message."""
    return Alternative(message=message, at=compile_place(place), **rest)  # type: ignore[arg-type]


def of(message: str, **rest: object) -> Alternative:
    """An alternative that reads a whole message."""
    return Alternative(message=message, **rest)  # type: ignore[arg-type]


def rule(
    fact: str, *alternatives: Alternative, union: bool = False, absent_none: bool = False
) -> FactRule:
    """How a fact is found."""
    return FactRule(fact, alternatives, union, absent_none)


def status(**rest: object) -> Message:
    """A JSON message ``status`` that counts for 30 s, required."""
    given: dict[str, object] = {"fresh_for_ms": 30_000, "required": True, **rest}
    return Message("status", "json", **given)  # type: ignore[arg-type]


def text(name: str, fresh_for_ms: int | None = 30_000, **rest: object) -> Message:
    """A text message."""
    return Message(name, "text", fresh_for_ms, **rest)  # type: ignore[arg-type]


class Bench:
    """A printer of one broker, whose source is up, and a clock that the test moves."""

    def __init__(
        self,
        messages: tuple[Message, ...],
        rules: tuple[FactRule, ...],
        forms: tuple[Form, ...] = (),
        *,
        wildcards: frozenset[str] = frozenset(),
        zone: ZoneInfo = UTC,
        up: bool = True,
    ) -> None:
        self.now = Moment(1_000, 1_700_000_000_000)
        reader = Reader(
            "made up", {one.name: one for one in messages}, {one.fact: one for one in rules}, forms
        )
        inputs = tuple(
            Input(one.name, BENCH, f"{one.name}/+" if one.name in wildcards else one.name)
            for one in messages
        )
        self.printer = PrinterFacts("kestrel", reader, inputs, zone)
        if up:
            self.printer.source_up(BENCH, self.now)

    def hear(
        self, message: str, said: object, *, part: str | None = None, retained: bool = False
    ) -> HeardResult:
        """Hear a document, a text, bytes, or ``None``; ``part`` is a wildcard's text."""
        body = said if isinstance(said, bytes) or said is None else _written(said)
        address = message if part is None else f"{message}/{part}"
        wildcards = () if part is None else (part,)
        return self.printer.heard(
            message, address, wildcards, body, retained=retained, now=self.now
        )

    def wait(self, ms: int) -> None:
        """Let time pass as the engine does: every deadline settled at its own time."""
        end = self.now.ms + ms
        while (due := self.printer.deadline()) is not None and due <= end:
            self.printer.settle(self.now.at(due))
        self.now = self.now.at(end)

    def __getitem__(self, fact: str) -> object:
        return self.printer.facts[fact]


def _written(said: object) -> bytes:
    return said.encode() if isinstance(said, str) else json.dumps(said).encode()
