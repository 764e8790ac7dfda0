"""From what arrives to facts: routes, sources, polls and asks of one site."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from typing import Final

from bridge.engine.actions import Action, Ask, Note, Poll
from bridge.engine.agenda import Agenda
from bridge.engine.events import HTTP_SOURCE, Heard, PollFailed, TooLarge
from bridge.engine.offered import facts_of
from bridge.engine.polling import PollSchedule
from bridge.engine.routes import Route, Routes
from bridge.engine.site import Asking, Site, facts_read
from bridge.facts.decoding import Refusal, Unreadable
from bridge.facts.held import Taken
from bridge.facts.moment import Moment
from bridge.facts.printer import HeardResult, PrinterFacts
from bridge.facts.values import Facts, FactValue, Reasons, Unknown, Why
from bridge.facts.words import MOST_WORDS, WordsRecord

#: What the counters of messages that were not taken begin with; then why.
REFUSED: Final = "refused: "
#: How a source stands: up, else why it is not.
UP: Final = ""

Emit = Callable[[Action], None]
#: What a change is handed to: the printer, and the names of its facts that changed.
Changed = Callable[[str, frozenset[str], Moment], None]

#: What needs no line in the log.
_GOOD = frozenset(
    {
        Taken.TAKEN,
        Taken.RENEWED,
        Taken.NOT_RENEWED,
        Taken.RETAINED_IGNORED,
        Taken.ANOTHER,
    }
)
#: What shows that a message is understood again.
_UNDERSTOOD = frozenset({Taken.TAKEN, Taken.RENEWED})
#: Values that can be read and that a fact cannot be, by the name under which they are counted.
_UNFIT: Final = {
    Why.UNMAPPED: "words without a mapping",
    Why.WRONG_TYPE: "values of another kind",
    Why.OUT_OF_RANGE: "values out of range",
    Why.ABSENT: "messages without a state",
}
#: Facts that no rule waits for are taken into the memory this often at most.
REMEMBER_EVERY_MS: Final = 1000
#: Addresses whose trouble is remembered; a flood of addresses must not fill memory or log.
TROUBLES_KEPT: Final = 1024


class Hearing:
    """The printers of a site and all that is known of them."""

    def __init__(self, site: Site, seed: str, agenda: Agenda, emit: Emit, changed: Changed) -> None:
        self.printers = {
            printer.name: PrinterFacts(
                printer.name,
                printer.reader,
                printer.inputs,
                site.zone,
                _watched(site, printer.name),
            )
            for printer in site.printers.values()
        }
        self.sources: dict[str, str] = dict.fromkeys(site.brokers, "not connected yet")
        self.counts: Counter[str] = Counter()
        self.troubles: dict[tuple[str, str], HeardResult] = {}
        self._agenda, self._emit, self._changed = agenda, emit, changed
        self._routes = Routes(site.printers.values())
        self._polls = {
            endpoint.id: PollSchedule(endpoint.id, endpoint.working_ms, endpoint.resting_ms, seed)
            for endpoint in site.endpoints.values()
        }
        self._listeners = {
            name: tuple(
                printer.name
                for printer in site.printers.values()
                if any(
                    given.source == HTTP_SOURCE and given.address == name
                    for given in printer.inputs
                )
            )
            for name in self._polls
        }
        self._polls_of = {
            printer: tuple(name for name in self._polls if printer in self._listeners[name])
            for printer in site.printers
        }
        self._asks = {
            f"{printer.name}/{asking.name}": (printer.name, asking)
            for printer in site.printers.values()
            for asking in printer.asks
        }
        self._words_new: set[str] = set()
        self._words_told: dict[str, set[tuple[str, str]]] = {name: set() for name in self.printers}
        self._unfit: dict[tuple[str, str], Unknown] = {}
        self._unfit_told: dict[str, set[tuple[str, str]]] = {name: set() for name in self.printers}
        self._poll_failures: dict[str, str] = {}

    def start(self, now: Moment) -> None:
        """Polled printers have no connection to wait for: their source is up from the start."""
        self.source_up(HTTP_SOURCE, now)
        for name in self._polls:
            self._schedule_poll(name, now.ms)

    def source_up(self, source: str, now: Moment, refused: frozenset[str] = frozenset()) -> None:
        """A source is subscribed: whoever must be asked to speak is asked now."""
        self.sources[source] = UP
        for printer in self.printers.values():
            self._apply(printer, printer.source_up(source, now, refused), now)
        for key, (_, asking) in self._asks.items():
            if asking.source == source:
                self._agenda.set("ask", key, now.ms)

    def source_lost(self, source: str, why: str, now: Moment) -> None:
        """A source is gone, and with it what it said."""
        self.sources[source] = why
        for printer in self.printers.values():
            self._apply(printer, printer.source_lost(source, now), now)
        for key, (_, asking) in self._asks.items():
            if asking.source == source:
                self._agenda.set("ask", key, None)

    def clock(self, now: Moment) -> None:
        """The wall clock became known or was stepped."""
        for printer in self.printers.values():
            self._apply(printer, printer.clock(now), now)

    def heard(self, event: Heard | TooLarge, now: Moment, *, for_others: bool = False) -> None:
        """A message, read or too large to be, or an answered poll; others may want it too."""
        self.counts["messages"] += 1
        body = event.body if isinstance(event, Heard) else _too_large(event.size)
        if event.source == HTTP_SOURCE:
            self._poll_answered(event.address)
        routes = self._routes.find(event.source, event.address)
        if not routes and not for_others:
            self.counts["messages nobody asked for"] += 1
        for route in routes:
            printer = self.printers[route.printer]
            result = printer.heard(
                route.message,
                event.address,
                route.wildcards,
                body,
                retained=event.retained,
                now=now,
            )
            # By identity first: an enum's hash costs more than the rest of this line.
            taken = result.taken
            is_plain = taken is Taken.TAKEN or taken is Taken.RENEWED
            if self.troubles or not (is_plain or taken in _GOOD):
                self._watch(route, event.address, result)
            self._apply(printer, result.changed, now)
            # The memory has, a little later, also what no rule waits for.
            self._agenda.not_after("memory", printer.name, now.ms + REMEMBER_EVERY_MS)
        if event.source == HTTP_SOURCE:
            self._schedule_poll(event.address, now.ms)

    def poll_failed(self, event: PollFailed, now: Moment) -> None:
        """A poll had no usable answer."""
        schedule = self._polls.get(event.address)
        if schedule is None:
            return
        self.counts["polls failed"] += 1
        schedule.failed(now.ms, event.retry_after_ms)
        self._schedule_poll(event.address, now.ms)
        if self._poll_failures.get(event.address) != event.why:
            self._poll_failures[event.address] = event.why
            printers = ", ".join(self._listeners[event.address])
            fields = {"printer": printers, "address": event.address, "why": event.why}
            self._emit(Note("warning", "printer gives no usable answer", fields))

    def whole(self, name: str, now: Moment) -> Facts:
        """Every fact of a printer as it is now, the ones that no rule waits for included."""
        facts = self.printers[name].whole(now)
        self._judge(name, facts, facts)
        return facts

    def settle(self, name: str, due: Moment) -> None:
        """A printer's facts reached a deadline."""
        printer = self.printers[name]
        self._apply(printer, printer.settle(due), due)

    def poll(self, name: str, now_ms: int) -> None:
        """Poll now, if it is time."""
        schedule = self._polls[name]
        due = schedule.due_ms(now_ms, working=self._working(name))
        if due is not None and due <= now_ms:
            schedule.asked(now_ms)
            self.counts["polls"] += 1
            self._emit(Poll(name, whole=not self._held(name)))
        self._schedule_poll(name, now_ms)

    def _held(self, endpoint: str) -> bool:
        return all(
            any(document.address == endpoint for document in self.printers[name].documents())
            for name in self._listeners[endpoint]
        )

    def ask(self, key: str, now_ms: int) -> None:
        """Ask a printer to speak, and again after its interval."""
        printer, asking = self._asks[key]
        if self.sources.get(asking.source) != UP:
            return  # it was lost at this very moment; when it is up again, all are asked
        self._emit(_ask(printer, asking))
        if asking.every_ms is not None:
            self._agenda.set("ask", key, now_ms + asking.every_ms)

    def restore_words(self, record: WordsRecord, now: Moment) -> None:
        """Words of an earlier start; they were told when they were met."""
        printer = self.printers.get(record.printer)
        if printer is not None:
            printer.restore_words(record, now)
            self._words_told[printer.name].update(printer.words)

    def new_words(self, printer: str, now: Moment) -> WordsRecord | None:
        """All words of a printer, where one is new since this was last asked."""
        if printer not in self._words_new:
            return None
        self._words_new.discard(printer)
        return self.printers[printer].words_record(now)

    def all_words(self, now: Moment) -> list[WordsRecord]:
        """The words of every printer that has said one."""
        return [each.words_record(now) for each in self.printers.values() if each.words]

    def _poll_answered(self, address: str) -> None:
        if address in self._polls:
            self._polls[address].heard()
        if self._poll_failures.pop(address, None) is not None:
            printers = ", ".join(self._listeners[address])
            fields = {"printer": printers, "address": address}
            self._emit(Note("info", "printer answers again", fields))

    def _working(self, endpoint: str) -> bool:
        # Not knowing counts as working: a poll too many costs less than a fault seen late.
        return any(
            self.printers[name].facts.get("state") not in {"idle", "stopped"}
            for name in self._listeners[endpoint]
        )

    def _schedule_poll(self, name: str, now_ms: int) -> None:
        schedule = self._polls.get(name)
        if schedule is not None:
            self._agenda.set("poll", name, schedule.due_ms(now_ms, working=self._working(name)))

    def _apply(self, printer: PrinterFacts, changed: frozenset[str], now: Moment) -> None:
        self._agenda.not_after("facts", printer.name, printer.deadline())
        if printer.words:
            self._tell_words(printer)
        if not changed:
            return
        self._judge(printer.name, printer.facts, changed)
        self._changed(printer.name, changed, now)
        if "state" in changed:
            for name in self._polls_of[printer.name]:
                self._schedule_poll(name, now.ms)

    def _tell_words(self, printer: PrinterFacts) -> None:
        told = self._words_told[printer.name]
        for fact, word in printer.words:
            # Whoever says ever new words has been told on often enough.
            if (fact, word) not in told and len(told) < MOST_WORDS:
                told.add((fact, word))
                self._words_new.add(printer.name)
                fields = {"printer": printer.name, "fact": fact, "word": word}
                self._emit(Note("warning", "word without a mapping, taken as unknown", fields))

    def _judge(self, printer: str, facts: Facts, names: Iterable[str]) -> None:
        """Count each value that a fact cannot be; the same one in a row is one."""
        met = {fact: why for fact in names if (why := _unfit(fact, facts[fact])) is not None}
        if self._unfit:
            for fact in set(names) - met.keys():
                self._unfit.pop((printer, fact), None)
        # Sorted: the order of a set differs from run to run, that of notes must not.
        for fact in sorted(met):
            why = met[fact]
            if self._unfit.get((printer, fact)) != why:
                self._unfit[printer, fact] = why
                self.counts[_UNFIT[why.why]] += 1
                if why.why is not Why.UNMAPPED:
                    self._tell_unfit(printer, fact, why)

    def _tell_unfit(self, printer: str, fact: str, why: Unknown) -> None:
        told = self._unfit_told[printer]
        # A number that drifts out of its range has a new text with every message.
        key = (fact, why.detail if why.why is Why.WRONG_TYPE else why.why.value)
        if key not in told and len(told) < MOST_WORDS:
            told.add(key)
            fields = {"printer": printer, "fact": fact, "why": why.why.value, "detail": why.detail}
            self._emit(Note("warning", "value not taken, its fact is unknown", fields))

    def _watch(self, route: Route, address: str, result: HeardResult) -> None:
        key = (route.printer, address)
        before = self.troubles.get(key)
        if result.taken in _GOOD:
            if before is not None and result.taken in _UNDERSTOOD:
                del self.troubles[key]
            return
        self.counts[f"{REFUSED}{result.taken.value}"] += 1
        if before is None and len(self.troubles) >= TROUBLES_KEPT:
            return  # counted, and that is all
        if before is None or before.taken is not result.taken:
            self.troubles[key] = result
            fields = {
                "printer": route.printer,
                "message": route.message,
                "address": address,
                "why": result.taken.value,
            }
            if result.detail:
                fields["detail"] = result.detail
            self._emit(Note("warning", "message not taken", fields))


def _unfit(fact: str, value: FactValue) -> Unknown | None:
    """Why a value that was read could not be taken, or ``None``."""
    why = value.open_because if isinstance(value, Reasons) else value
    if not isinstance(why, Unknown) or why.why not in _UNFIT:
        return None
    # Much may be absent from a good message; the state from none.
    return why if why.why is not Why.ABSENT or fact == "state" else None


def _too_large(size: int) -> Refusal:
    return Refusal(Unreadable.TOO_LARGE, f"{size} bytes")


def _ask(printer: str, asking: Asking) -> Ask:
    return Ask(asking.source, asking.address, asking.payload, printer, asking.name)


def _watched(site: Site, printer: str) -> frozenset[str]:
    """What the rules read of a printer, and what its polls and its memory cannot wait for."""
    tables = {one.table for one in site.segments.values() if printer in one.printers and one.table}
    read = (facts_read(site, site.tables[name]) for name in sorted(tables))
    whens = [alarm.when for alarm in site.alarms.values()]
    whens += [prompt.when for prompt in site.prompts.values()]
    whens += [prompt.until or () for prompt in site.prompts.values()]
    return frozenset({"state", "job"}).union(*map(facts_of, whens), *read)
