"""A core of which only decisions are asked: the same printers, the same wishes, and no controllers.

Answers of a recording belong to the requests of the core that was recorded; one with other rules
sends others. So none is given, and whoever waits for a record is answered at once. What segments
shall show does not depend on either.
"""

from __future__ import annotations

from bridge.engine.actions import Action, Record
from bridge.engine.core import Core
from bridge.engine.events import (
    Answered,
    Due,
    Event,
    NotRecorded,
    Recorded,
    Settings,
    Unanswered,
)
from bridge.engine.records import Happening
from bridge.engine.view import View
from bridge.facts.moment import Moment
from bridge.recording.replaying import has_decided


class Deciding:
    """Feeds a core of its own. ``instead`` are settings that take the place of recorded ones."""

    def __init__(self, instead: Settings | None = None) -> None:
        self._core, self._instead = Core(), instead
        self._last = Moment(0)
        #: By segment, rule and scene; replaced as a whole when anything changed.
        self.shown: dict[str, tuple[str, str]] = {}

    def deadline(self) -> int | None:
        """When something is due without an event; always later than the last."""
        due = self._core.deadline()
        return None if due is None else max(due, self._last.ms + 1)

    def due(self, ms: int) -> None:
        """Let what is due at this instant happen."""
        self._feed(Due(), self._last.at(ms))

    def take(self, event: Event, moment: Moment) -> None:
        """A recorded event."""
        if isinstance(event, Answered | Unanswered | Recorded | NotRecorded):
            return
        if isinstance(event, Settings) and self._instead is not None:
            event = self._instead
        self._feed(event, moment)
        if isinstance(event, Settings):
            self._look()

    def view(self) -> View:
        """What is known and shown."""
        return self._core.view()

    def _feed(self, event: Event, moment: Moment) -> None:
        self._last = moment
        actions = self._core.handle(event, moment)
        changed = has_decided(actions)
        while (number := _last_state(actions)) is not None:
            actions = self._core.handle(Recorded(number), moment)
            changed = changed or has_decided(actions)
        if changed:
            self._look()

    def _look(self) -> None:
        segments = self._core.view().segments.values()
        self.shown = {each.name: (each.rule, each.scene) for each in segments}


def _last_state(actions: list[Action]) -> int | None:
    """The number of the last record that somebody may wait for."""
    numbers = [
        each.number
        for each in actions
        if isinstance(each, Record) and not isinstance(each.what, Happening)
    ]
    return numbers[-1] if numbers else None
