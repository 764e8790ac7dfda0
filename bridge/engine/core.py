"""The core: events and instants in, actions out. No clock, no socket, no chance of its own.

``handle`` first settles every deadline that is due, each at its own due time, then the event;
requests, polls and asks are chosen once, at the end, at ``now``. So facts and decisions never
depend on how late a timer fired, and the limits are charged at the instant of sending.
"""

from __future__ import annotations

from collections import Counter
from typing import Final

from bridge.engine.actions import Action
from bridge.engine.agenda import Agenda
from bridge.engine.events import (
    Answered,
    Clock,
    Due,
    Event,
    Heard,
    NotRecorded,
    PollFailed,
    Recorded,
    Restored,
    Settings,
    SourceLost,
    SourceUp,
    Started,
    Stopping,
    TooLarge,
    Unanswered,
    Wished,
)
from bridge.engine.running import Running
from bridge.engine.view import View
from bridge.engine.viewing import view_of
from bridge.errors import LampwrightError
from bridge.facts.moment import Moment
from bridge.lights.dialect.codecs import Json


class OutOfOrderError(LampwrightError):
    """An event came before the core had begun, or a beginning came twice."""

    def __init__(self, event: Event, expected: str) -> None:
        super().__init__(f"{type(event).__name__} out of order, expected {expected}")


#: What still matters then: what becomes of the last requests and records.
_AFTER_STOPPING: Final = (Answered, Unanswered, Recorded, NotRecorded, Due)


class Core:
    """One running site. Feed it events; perform the actions; call again at its deadline."""

    def __init__(self) -> None:
        self._seed: str | None = None
        self._restored: Restored | None = None
        self._agenda = Agenda()
        self._actions: list[Action] = []
        self._running: Running | None = None
        self._polls_due: list[str] = []
        self._asks_due: list[str] = []
        self._stopping = False
        self._now = Moment(0)

    def handle(self, event: Event, now: Moment) -> list[Action]:
        """What is to be done because of this event and of all that became due before it."""
        self._actions = []
        running = self._running
        if running is None:
            self._begin(event, now)
            running = self._running
        else:
            # Two shells may read their clocks in one order and deliver in the other.
            now = now if now.ms >= self._now.ms else now.at(self._now.ms)
            # By the wall clock as it was: an event may be the news that it was stepped.
            then, self._now = self._now.at(now.ms), now
            self._settle(then, running)
            self._take(event, now, running)
        if running is not None:
            self._send(now, running)
        return self._actions

    def deadline(self) -> int | None:
        """When ``handle`` must be called with ``Due`` if nothing happens before, in ms."""
        return self._agenda.next_ms()

    def foreign(self) -> dict[str, tuple[Json, ...]]:
        """By controller, what was last read that is not ours and has to be sent back."""
        return {} if self._running is None else self._running.showing.foreign()

    def is_leaving(self) -> bool:
        """After ``Stopping``: whether a controller that can be reached is not off watch yet."""
        return self._running is not None and self._running.showing.is_leaving()

    def not_left(self) -> tuple[str, ...]:
        """After ``Stopping``: the controllers that are not off watch."""
        return () if self._running is None else self._running.showing.not_left()

    def _begin(self, event: Event, now: Moment) -> None:
        if isinstance(event, Started) and self._seed is None:
            self._seed = event.seed
        elif isinstance(event, Restored) and self._seed is not None and self._restored is None:
            self._restored = event
        elif isinstance(event, Settings) and self._seed is not None:
            self._now = now
            self._running = Running(event.site, self._seed, self._agenda, self._actions_append)
            self._running.start(self._seed, self._restored, now)
            self._restored = None
        else:
            raise OutOfOrderError(event, "Started, then Settings (with Restored between)")

    def _actions_append(self, action: Action) -> None:
        self._actions.append(action)

    def _settle(self, now: Moment, running: Running) -> None:
        due = self._agenda.next_ms()
        if due is None or due > now.ms:
            return
        for due_ms, matter, name in self._agenda.pop_due(now.ms):
            match matter:
                case "facts":
                    running.hearing.settle(name, now.at(due_ms))
                case "memory":
                    running.remember(name, now.at(due_ms))
                case "mind":
                    running.minding.settle(name, now.at(due_ms))
                case "turn":
                    running.deciding.choose(name, now.at(due_ms))
                case "hold" | "day" | "keeping":
                    running.due(matter, now.at(due_ms))
                case "poll":
                    self._polls_due.append(name)
                case "ask":
                    self._asks_due.append(name)
                case "lights":
                    running.showing.touched.add(name)

    def _take(self, event: Event, now: Moment, running: Running) -> None:
        if self._stopping and not isinstance(event, _AFTER_STOPPING):
            # Nobody watches any more: what is heard now decides nothing.
            return
        match event:
            case Heard() | TooLarge():
                running.heard(event, now)
            case Answered() | Unanswered():
                running.answered(event, now)
            case PollFailed():
                running.poll_failed(event, now)
            case SourceUp() | SourceLost():
                running.source(event, now)
            case Wished() | Recorded() | NotRecorded():
                running.wished_or_kept(event, now)
            case Clock():
                running.clock(now)
            case Stopping():
                self._stopping = True
                self._polls_due, self._asks_due = [], []
                self._agenda.keep_only(("lights", "keeping"))
                running.stop(now)
            case Due():
                pass
            case Started() | Restored() | Settings():
                raise OutOfOrderError(event, "neither Started nor Settings again")

    def _send(self, now: Moment, running: Running) -> None:
        # What the event itself made due at once.
        self._settle(now, running)
        if self._polls_due or self._asks_due:
            for name in self._polls_due:
                running.hearing.poll(name, now.ms)
            for key in self._asks_due:
                running.hearing.ask(key, now.ms)
            self._polls_due, self._asks_due = [], []
        running.look_ahead()
        running.powering.settle(now.ms)
        showing = running.showing
        if showing.touched:
            # Sorted: the order of a set differs from run to run, that of requests must not.
            for name in sorted(showing.touched):
                self._agenda.set("lights", name, showing.request(name, now.ms))
            showing.touched.clear()

    def counts(self) -> Counter[str]:
        """How often what happened."""
        return Counter() if self._running is None else self._running.counts()

    def view(self) -> View:
        """A picture of what is known and shown; changes nothing."""
        return view_of(self._running, self._now)
