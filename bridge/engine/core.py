"""The core: events and instants in, actions out. No clock, no socket, no chance of its own.

``handle`` first settles every deadline that is due, each at its own due time, then the event;
requests, polls and asks are chosen once, at the end, at ``now``. So facts and decisions never
depend on how late a timer fired, and the limits are charged at the instant of sending.
"""

from __future__ import annotations

from collections import Counter

from bridge.engine.actions import Action, Note
from bridge.engine.agenda import Agenda
from bridge.engine.events import (
    Answered,
    Clock,
    Due,
    Event,
    Heard,
    PollFailed,
    Settings,
    SourceLost,
    SourceUp,
    Started,
    Stopping,
    Unanswered,
)
from bridge.engine.hearing import Hearing
from bridge.engine.showing import Showing
from bridge.engine.site import Site
from bridge.engine.view import ControllerView, PrinterView, SegmentView, View
from bridge.errors import LampwrightError
from bridge.facts.moment import Moment


class OutOfOrderError(LampwrightError):
    """An event came before the core had begun, or a beginning came twice."""

    def __init__(self, event: Event, expected: str) -> None:
        super().__init__(f"{type(event).__name__} out of order, expected {expected}")


class Core:
    """One running site. Feed it events; perform the actions; call again at its deadline."""

    def __init__(self) -> None:
        self._seed: str | None = None
        self._site: Site | None = None
        self._agenda = Agenda()
        self._actions: list[Action] = []
        self._hearing: Hearing | None = None
        self._showing: Showing | None = None
        self._polls_due: list[str] = []
        self._asks_due: list[str] = []
        self._stopping = False
        self._now = Moment(0)

    def handle(self, event: Event, now: Moment) -> list[Action]:
        """What is to be done because of this event and of all that became due before it."""
        self._actions = []
        if self._hearing is None or self._showing is None:
            self._begin(event, now)
        else:
            # Two shells may read their clocks in one order and deliver in the other.
            now = now if now.ms >= self._now.ms else now.at(self._now.ms)
            self._now = now
            self._settle(now, self._hearing, self._showing)
            self._take(event, now, self._hearing, self._showing)
        if self._hearing is not None and self._showing is not None and not self._stopping:
            self._send(now, self._hearing, self._showing)
        return self._actions

    def deadline(self) -> int | None:
        """When ``handle`` must be called with ``Due`` if nothing happens before, in ms."""
        return None if self._stopping else self._agenda.next_ms()

    def _begin(self, event: Event, now: Moment) -> None:
        if isinstance(event, Started) and self._seed is None:
            self._seed = event.seed
        elif isinstance(event, Settings) and self._seed is not None:
            self._site, self._now = event.site, now
            emit = self._actions_append
            self._hearing = Hearing(event.site, self._seed, self._agenda, emit, self._facts_changed)
            self._showing = Showing(event.site, emit)
            self._showing.start(self._seed, self._hearing.printers, now)
            self._hearing.start(now)
        else:
            raise OutOfOrderError(event, "Started, then Settings")

    def _actions_append(self, action: Action) -> None:
        self._actions.append(action)

    def _facts_changed(self, printer: str, names: frozenset[str], now: Moment) -> None:
        if self._hearing is not None and self._showing is not None:
            self._showing.changed(self._hearing.printers[printer], names, now)

    def _settle(self, now: Moment, hearing: Hearing, showing: Showing) -> None:
        due = self._agenda.next_ms()
        if due is None or due > now.ms:
            return
        for due_ms, matter, name in self._agenda.pop_due(now.ms):
            match matter:
                case "facts":
                    hearing.settle(name, now.at(due_ms))
                case "poll":
                    self._polls_due.append(name)
                case "ask":
                    self._asks_due.append(name)
                case "lights":
                    showing.touched.add(name)

    def _take(self, event: Event, now: Moment, hearing: Hearing, showing: Showing) -> None:
        match event:
            case Heard():
                hearing.heard(event, now)
            case Answered():
                showing.answered(event, now)
            case Unanswered():
                showing.unanswered(event, now)
            case PollFailed():
                hearing.poll_failed(event, now)
            case SourceUp(source, refused):
                self._actions.append(Note("info", "source is up", {"source": source}))
                hearing.source_up(source, now, frozenset(refused))
            case SourceLost(source, why):
                fields = {"source": source, "why": why}
                self._actions.append(Note("warning", "source is lost", fields))
                hearing.source_lost(source, why, now)
            case Clock():
                hearing.clock(now)
            case Stopping():
                self._stopping = True
            case Due():
                pass
            case Started() | Settings():
                raise OutOfOrderError(event, "neither Started nor Settings again")

    def _send(self, now: Moment, hearing: Hearing, showing: Showing) -> None:
        # What the event itself made due at once.
        self._settle(now, hearing, showing)
        if self._polls_due or self._asks_due:
            for name in self._polls_due:
                hearing.poll(name, now.ms)
            for key in self._asks_due:
                hearing.ask(key, now.ms)
            self._polls_due, self._asks_due = [], []
        if showing.touched:
            # Sorted: the order of a set differs from run to run, that of requests must not.
            for name in sorted(showing.touched):
                self._agenda.set("lights", name, showing.request(name, now.ms))
            showing.touched.clear()

    def counts(self) -> Counter[str]:
        """How often what happened."""
        if self._hearing is None or self._showing is None:
            return Counter()
        return self._hearing.counts + self._showing.counts

    def view(self) -> View:
        """A picture of what is known and shown; changes nothing."""
        hearing, showing, site = self._hearing, self._showing, self._site
        if hearing is None or showing is None or site is None:
            return View(self._now.ms, {}, {}, {}, {}, {})
        return View(
            now_ms=self._now.ms,
            sources=dict(hearing.sources),
            printers={name: _printer_view(hearing, name, self._now) for name in hearing.printers},
            segments={name: _segment_view(site, hearing, showing, name) for name in site.segments},
            controllers={
                name: ControllerView(name, c.contact, c.detail, c.restarts, c.attempt, c.busy)
                for name, c in showing.controllers.items()
            },
            counts=dict(self.counts()),
        )


def _printer_view(hearing: Hearing, name: str, now: Moment) -> PrinterView:
    printer = hearing.printers[name]
    troubles = tuple(
        f"{address}: {result.taken.value}{': ' + result.detail if result.detail else ''}"
        for (owner, address), result in hearing.troubles.items()
        if owner == name
    )
    return PrinterView(name, printer.whole(now), tuple(printer.words), troubles)


def _segment_view(site: Site, hearing: Hearing, showing: Showing, name: str) -> SegmentView:
    segment, shown = site.segments[name], showing.shown[name]
    state = showing.controllers[segment.controller].segments[name]
    decision = shown.decision
    facts = hearing.printers[segment.printers[0]].facts if segment.printers else {}
    return SegmentView(
        name=name,
        controller=segment.controller,
        printers=segment.printers,
        pixels=segment.place.length,
        table=segment.table or "",
        rule=decision.row.name if decision else "",
        because=decision.because(facts) if decision else "its resting scene",
        passed_over=tuple((p.row.name, p.because(facts)) for p in decision.passed_over)
        if decision
        else (),
        scene=shown.scene.name,
        since_ms=shown.since_ms,
        look=shown.chosen.look,
        kept=shown.chosen.kept,
        standing=state.standing,
        disagrees=state.disagrees,
    )
