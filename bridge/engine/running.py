"""One site's parts joined: what is heard goes to the minds, from there to segments and lights."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from typing import Literal

from bridge.engine.actions import Action, Note
from bridge.engine.agenda import Agenda
from bridge.engine.deciding import Deciding
from bridge.engine.events import (
    Answered,
    Heard,
    NotRecorded,
    PollFailed,
    Recorded,
    Restored,
    SourceLost,
    SourceUp,
    TooLarge,
    Unanswered,
    Wished,
)
from bridge.engine.hearing import Hearing
from bridge.engine.holding import Holding
from bridge.engine.keeping import Keeping
from bridge.engine.mind import Mind
from bridge.engine.minding import Minding
from bridge.engine.powering import Powering
from bridge.engine.pressing import Pressing
from bridge.engine.records import Happening, HoldRecord, StateRecord
from bridge.engine.showing import Showing
from bridge.engine.site import Site
from bridge.engine.wishing import Wishing
from bridge.facts.moment import Moment
from bridge.facts.words import WordsRecord


class Running:
    """The parts of a running site. Owned by the core."""

    def __init__(
        self, site: Site, seed: str, agenda: Agenda, emit: Callable[[Action], None]
    ) -> None:
        self.site = site
        self._agenda, self._emit = agenda, emit
        self.keeping = Keeping(emit, self._record_all)
        self.hearing = Hearing(site, seed, agenda, emit, self._facts_changed)
        self.minding = Minding(site, seed, agenda, self.keeping, self._minds_changed)
        self.holding = Holding(site)
        self.showing = Showing(site, emit, self.keeping.state)
        self.powering = Powering(site, self.showing, emit)
        self.deciding = Deciding(
            site, self.minding.minds, self.holding, self.powering, agenda, self.keeping
        )
        self.wishing = Wishing(site, self.minding, self.holding, self.keeping, self.deciding.choose)
        self.pressing = Pressing(site.buttons.values(), emit)
        self._has_buttons = bool(site.buttons)
        self._started = self._has_clock = self._stopped = False

    def start(self, seed: str, restored: Restored | None, now: Moment) -> None:
        """Take up what an earlier start left, then decide every segment once."""
        self._has_clock = now.wall_ms is not None
        self.keeping.keeps = restored is not None
        self.keeping.happened(Happening("start", "started", now.wall_ms))
        if restored is not None:
            heard_until = restored.heard_until_wall_ms
            self.minding.restore(restored.records, heard_until, now)
            self._restore_holds(restored, now)
            for record in restored.records:
                if isinstance(record, WordsRecord):
                    self.hearing.restore_words(record, now)
            self.showing.restore(restored.records, now)
        self.showing.start(seed, now)
        for name, printer in self.hearing.printers.items():
            self.minding.start(name, printer.facts, now)
        self.deciding.start(now)
        self._agenda.set("day", "", self.deciding.next_time_ms(now))
        self._started = True
        self.hearing.start(now)

    def _restore_holds(self, restored: Restored, now: Moment) -> None:
        for record in restored.records:
            if not isinstance(record, HoldRecord):
                continue
            why = self.holding.restore(record, now)
            if why is not None:
                fields = {"segment": record.segment, "why": why}
                self._emit(Note("warning", "a hold of before is not taken up", fields))
                self.keeping.state(HoldRecord(record.segment, None, None, ""), now)
        self._end_holds(now)

    def heard(self, event: Heard | TooLarge, now: Moment) -> None:
        """A message or an answered poll."""
        if self._has_buttons and isinstance(event, Heard):
            for wished in self.pressing.heard(event, now):
                self.wishing.take(wished, now)
        for_others = self._has_buttons and self.pressing.hears(event)
        self.hearing.heard(event, now, for_others=for_others)

    def answered(self, event: Answered | Unanswered, now: Moment) -> None:
        """What became of a request to a controller."""
        if isinstance(event, Answered):
            controller = self.showing.answered(event, now)
        else:
            controller = self.showing.unanswered(event, now)
        if controller is not None:
            self.powering.answered(controller)

    def poll_failed(self, event: PollFailed, now: Moment) -> None:
        """A poll had no usable answer."""
        self.pressing.lost(event)
        self.hearing.poll_failed(event, now)

    def source(self, event: SourceUp | SourceLost, now: Moment) -> None:
        """A source is subscribed, or gone."""
        if isinstance(event, SourceUp):
            self._emit(Note("info", "source is up", {"source": event.source}))
            self.hearing.source_up(event.source, now, frozenset(event.refused))
        else:
            fields = {"source": event.source, "why": event.why}
            # The source itself has told what a person should do about it.
            self._emit(Note("info", "source is lost", fields))
            self.pressing.lost(event)
            self.hearing.source_lost(event.source, event.why, now)

    def wished_or_kept(self, event: Wished | Recorded | NotRecorded, now: Moment) -> None:
        """Somebody wishes something, or the journal answers."""
        match event:
            case Wished():
                self.wishing.take(event, now)
            case Recorded(number):
                self.keeping.recorded(number, now)
            case NotRecorded(number, why):
                self.keeping.not_recorded(number, why, now)

    def remember(self, printer: str, now: Moment) -> None:
        """Let a printer's memory have what no rule waits for."""
        self.minding.remember(printer, self.hearing.whole(printer, now), now)
        words = self.hearing.new_words(printer, now)
        if words is not None:
            self.keeping.state(words, now, durable=False)

    def due(self, matter: Literal["hold", "day", "keeping"], now: Moment) -> None:
        """Something that there is only one deadline of."""
        match matter:
            case "hold":
                self.holds_over(now)
            case "day":
                self.time_of_day(now)
            case "keeping":
                self.kept_or_not(now)

    def holds_over(self, now: Moment) -> None:
        """Holds whose time has come."""
        for segment in self._end_holds(now):
            self.deciding.choose(segment, now)
        self.look_ahead()

    def time_of_day(self, now: Moment) -> None:
        """A time of day came at which something looks otherwise."""
        self.deciding.time_of_day(now)
        self._agenda.set("day", "", self.deciding.next_time_ms(now))

    def kept_or_not(self, now: Moment) -> None:
        """Whoever waited long enough for the disk, and what failed there."""
        self.keeping.settle(now)
        self.look_ahead()

    def _end_holds(self, now: Moment) -> list[str]:
        over = self.holding.settle(now)
        for segment in over:
            # One that another takes the place of, once that is kept, leaves no trace.
            if segment not in self.holding.held:
                self.keeping.state(self.holding.record(segment), now)
                why = "its time is over"
                line = Happening("hold", "released", now.wall_ms, segment=segment, cause=why)
                self.keeping.happened(line)
        return over

    def clock(self, now: Moment) -> None:
        """The wall clock became known or was stepped."""
        self.hearing.clock(now)
        self.minding.clock(now)
        self.holding.clock(now)
        if now.wall_ms is not None and not self._has_clock:
            self._record_all(now)  # what was recorded without its times
        self._has_clock = now.wall_ms is not None
        # What is over by the new time must not show for even an instant.
        for segment in (*self._end_holds(now), *self.holding.held):
            self.deciding.choose(segment, now)
        self.time_of_day(now)

    def stop(self, now: Moment) -> None:
        """The last line of this start's history, how often each word was met, and off watch."""
        self._stopped = True
        for words in self.hearing.all_words(now):
            self.keeping.state(words, now, durable=False)
        self.keeping.happened(Happening("start", "stopped", now.wall_ms))
        self.deciding.leave(now)

    def look_ahead(self) -> None:
        """The deadlines of what has only one."""
        self._agenda.set("keeping", "", self.keeping.deadline())
        self._agenda.set("hold", "", None if self._stopped else self.holding.deadline())

    def counts(self) -> Counter[str]:
        """How often what happened."""
        deciding = (self.hearing, self.pressing, self.minding, self.deciding)
        parts = (*deciding, self.powering, self.showing)
        return sum((part.counts for part in parts), Counter())

    def _facts_changed(self, printer: str, names: Iterable[str], now: Moment) -> None:
        if self._started:
            facts = self.hearing.printers[printer].facts
            self.minding.facts_changed(printer, facts, names, now)

    def _minds_changed(self, mind: Mind, names: set[str], now: Moment) -> None:
        if self._started:
            self.deciding.changed(mind, names, now)

    def _record_all(self, now: Moment) -> None:
        self.minding.record_all(now)
        held_and_heard: list[StateRecord] = [*self.holding.records(), *self.hearing.all_words(now)]
        for record in held_and_heard:
            self.keeping.state(record, now)
