"""All that is known of one printer: messages in, facts out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final
from zoneinfo import ZoneInfo

from bridge.facts.decoding import Refusal
from bridge.facts.documents import ALWAYS_UP, MessageState
from bridge.facts.evaluation import Plan, at_once, compile_plans, rules_of
from bridge.facts.held import Taken
from bridge.facts.moment import Moment
from bridge.facts.reader import Alternative, Input, Reader
from bridge.facts.surroundings import Surroundings
from bridge.facts.topics import wildcard_count
from bridge.facts.values import Facts, FactValue, Unknown, Why
from bridge.facts.vocabulary import STALE
from bridge.facts.words import Word, Words, WordsRecord

LINK: Final = "link"
UP: Final = "up"
DOWN: Final = "down"

_NONE_CHANGED: Final[frozenset[str]] = frozenset()


@dataclass(frozen=True, slots=True)
class HeardResult:
    """What became of a message, and the names of the facts that changed."""

    taken: Taken
    detail: str
    changed: frozenset[str]


@dataclass(frozen=True, slots=True)
class DocumentView:
    """One held document. ``why`` says why it does not count; times are monotonic milliseconds."""

    message: str
    address: str
    heard_ms: int
    fresh_until_ms: int | None
    size: int
    why: Why | None


class PrinterFacts:
    """All that is known of one printer. Mutable; owned by the engine; no clock of its own."""

    def __init__(
        self,
        name: str,
        reader: Reader,
        inputs: tuple[Input, ...],
        zone: ZoneInfo,
        watched: frozenset[str] | None = None,
    ) -> None:
        self.name = name
        #: ``link``, ``stale`` and the offered facts, of which those that nobody has ``watched``
        #: may be as old as the last call of ``whole``. Read by the rules, written only here.
        self.facts: dict[str, FactValue] = {}
        self._around = Surroundings(self.facts, link_up=False, unmapped=[])
        self._states = _states_of(reader, inputs, zone)
        self._addresses = {
            name: frozenset(given.address for given in inputs if given.message == name)
            for name in self._states
        }
        plans = compile_plans(reader, self._states, zone, self._around)
        self._link_plan = next((plan for plan in plans if plan.fact == LINK), None)
        others = [plan for plan in plans if plan.fact != LINK]
        self._rules = rules = rules_of(reader)
        first = frozenset(rules) if watched is None else at_once(rules, watched)
        self._plans = tuple(plan for plan in others if plan.fact in first)
        self._later = tuple(plan for plan in others if plan.fact not in first)
        self._reading = {
            message: tuple(plan for plan in self._plans if message in plan.messages)
            for message in self._states
        }
        self._timed = tuple(plan for plan in self._plans if plan.timed)
        self._required = [state for state in self._states.values() if state.message.required]
        self._sources_up = set(ALWAYS_UP)
        self._due: int | None = None
        self._words = Words()
        offered = reader.offers | {plan.fact for plan in plans} | {LINK, STALE.name}
        self.facts.update((fact, Unknown(Why.NOT_OFFERED)) for fact in sorted(offered))
        self._look_again((), Moment(0))
        self._evaluate(others, Moment(0))

    def whole(self, now: Moment) -> Facts:
        """Every offered fact as it is now, the ones that nobody waits for included."""
        self._evaluate(self._later, now)
        return dict(self.facts)

    @property
    def words(self) -> Mapping[tuple[str, str], Word]:
        """Words without a mapping, by fact and word."""
        return self._words.by_fact_and_word

    def words_record(self, now: Moment) -> WordsRecord:
        """The same in wall time, for people and for the next start."""
        return WordsRecord(self.name, self._words.records(now))

    def restore_words(self, record: WordsRecord, now: Moment) -> None:
        """Take up the words of an earlier start that still nobody has taught."""
        self._words.restore(record, self._rules, now)

    def heard(
        self,
        message: str,
        address: str,
        wildcards: tuple[str, ...],
        body: bytes | Refusal | None,
        *,
        retained: bool,
        now: Moment,
    ) -> HeardResult:
        """Take a message.

        ``body`` is ``None`` where a poll was answered "unchanged", a ``Refusal`` where it was too
        large for anybody to keep.
        """
        changed = self.settle(now) if self._is_due(now) else _NONE_CHANGED
        state = self._states.get(message)
        if state is None:
            return HeardResult(Taken.UNSOLICITED, message, changed)
        self._around.unmapped.clear()
        outcome, held = state.take(address, wildcards, body, now, retained=retained)
        self._expect(held.expires_ms)
        if outcome.freshness:
            changed |= self._look_again((message,), now)
        elif outcome.document:
            changed = self._document_changed(state, now) | changed
        elif outcome.taken is Taken.RENEWED and self._timed:
            changed |= self._evaluate(self._timed, now)
        if self._around.unmapped:
            self._keep_words(message, held.address, now)
        return HeardResult(outcome.taken, outcome.detail, changed)

    def source_up(
        self, source: str, now: Moment, refused: frozenset[str] = frozenset()
    ) -> frozenset[str]:
        """A source is subscribed, but for the ``refused`` addresses, which stay unheard."""
        self._sources_up.add(source)
        states = [state for state in self._states.values() if source in state.sources]
        for state in states:
            if state.sources <= self._sources_up and refused.isdisjoint(
                self._addresses[state.name]
            ):
                state.can_be_heard(Why.SOURCE_LOST)
        return self._look_again([state.name for state in states], now)

    def source_lost(self, source: str, now: Moment) -> frozenset[str]:
        """A source is gone, and with it all that was heard from it."""
        if source not in ALWAYS_UP:
            self._sources_up.discard(source)
        states = [state for state in self._states.values() if source in state.sources]
        for state in states:
            state.drop(Why.SOURCE_LOST)
        return self._look_again([state.name for state in states], now)

    def clock(self, now: Moment) -> frozenset[str]:
        """The wall clock became known or was stepped."""
        changed = self.settle(now)
        again: list[str] = []
        for state in self._states.values():
            for held in state.all_held():
                if state.judge_stamp(held, now):
                    again.append(state.name)
                self._expect(held.expires_ms)
        if again:
            changed |= self._look_again(again, now)
        return changed | self._evaluate(self._timed, now)

    def deadline(self) -> int | None:
        """The next millisecond at which a fact can change with nothing heard; may be too early."""
        return self._due

    def settle(self, now: Moment) -> frozenset[str]:
        """Let everything expire that no longer counts at ``now.ms``."""
        if not self._is_due(now):
            return _NONE_CHANGED
        expired: list[str] = []
        self._due = None
        for state in self._states.values():
            for held in state.all_held():
                if held.expires_ms is not None and held.expires_ms <= now.ms:
                    held.why, held.expires_ms = held.why_then, None
                    expired.append(state.name)
                self._expect(held.expires_ms)
        return self._look_again(expired, now) if expired else _NONE_CHANGED

    def documents(self) -> tuple[DocumentView, ...]:
        """What is held, for people."""
        return tuple(
            DocumentView(
                state.name,
                held.address,
                held.heard_ms,
                None if held.expires_ms is None else held.expires_ms - 1,
                len(held.body or b""),
                held.why,
            )
            for state in self._states.values()
            for held in state.all_held()
            if held.is_held
        )

    def _is_due(self, now: Moment) -> bool:
        return self._due is not None and self._due <= now.ms

    def _expect(self, expires_ms: int | None) -> None:
        if expires_ms is not None and (self._due is None or expires_ms < self._due):
            self._due = expires_ms

    def _document_changed(self, state: MessageState, now: Moment) -> frozenset[str]:
        """The common case: another document, as fresh as the last."""
        link = self._link_plan
        if link is not None and state.name in link.messages:
            return self._look_again((state.name,), now)
        if self.facts[LINK] == DOWN:
            return _NONE_CHANGED
        return self._evaluate(self._reading[state.name], now)

    def _look_again(self, messages: Iterable[str], now: Moment) -> frozenset[str]:
        """Everything that documents or freshness of these messages can change."""
        changed: set[str] = set()
        plans = self._judge_link(now, changed)
        self._set(STALE.name, not all(map(self._counts, self._required)), changed)
        if plans is None:
            names = set(messages)
            plans = tuple(plan for plan in self._plans if plan.messages & names)
        return frozenset(changed | self._evaluate(plans, now))

    def _judge_link(self, now: Moment, changed: set[str]) -> tuple[Plan, ...] | None:
        """Judge the link; the plans that it makes look again, or ``None`` if it stays."""
        ruled = self._link_plan
        link = self._derived_link() if ruled is None else ruled.evaluate(now)
        was_up = self._around.link_up
        if not self._set(LINK, link, changed) or ruled is None:
            return None
        self._around.link_up = link == UP
        for state in self._states.values():
            if state.name in ruled.messages:
                continue
            if was_up and not self._around.link_up:
                # A link that went with its source says no more than that: after a reconnect as
                # after a start, what is heard counts before the link is known.
                is_deaf = not state.sources <= self._sources_up
                state.drop(Why.SOURCE_LOST if is_deaf else Why.LINK_NOT_UP)
            elif self._around.link_up:
                state.can_be_heard(Why.LINK_NOT_UP)
        return self._plans

    def _derived_link(self) -> FactValue:
        """Without a rule of its own: up while something required is heard and nothing is deaf."""
        for state in self._required:
            if not state.sources or not state.sources <= self._sources_up:
                return Unknown(Why.SOURCE_LOST, state.name)
        if any(map(self._counts, self._required)):
            return UP
        names = ", ".join(state.name for state in self._required)
        return Unknown(Why.NOT_HEARD, names or "no message is required")

    def _counts(self, state: MessageState) -> bool:
        """Whether a message is fresh: every address that it was heard on."""
        if state.while_link and not self._around.link_up:
            return False
        held = state.all_held()
        return bool(held) and all(one.why is None for one in held)

    def _evaluate(self, plans: Iterable[Plan], now: Moment) -> frozenset[str]:
        facts = self.facts
        changed: list[str] = []
        unknown = Unknown(Why.LINK_NOT_UP) if facts[LINK] == DOWN else None
        for plan in plans:
            value = plan.evaluate(now) if unknown is None else unknown
            before = facts[plan.fact]
            if before is not value and (before != value or type(before) is not type(value)):
                facts[plan.fact] = value
                changed.append(plan.fact)
        return frozenset(changed)

    def _set(self, fact: str, value: FactValue, changed: set[str]) -> bool:
        before = self.facts[fact]
        # 1.0 == True in Python, and not here.
        if before is value or (before == value and type(before) is type(value)):
            return False
        self.facts[fact] = value
        changed.add(fact)
        return True

    def _keep_words(self, message: str, address: str, now: Moment) -> None:
        """Keep the words of this message; those of others were kept when they were heard."""
        # Only what was found with this message; the rest may be as old as a second.
        found = {plan.fact: self.facts[plan.fact] for plan in self._plans}
        found[LINK] = self.facts[LINK]
        known = {
            fact: f"{value:g}" if isinstance(value, float) else str(value)
            for fact, value in sorted(found.items())
            if not isinstance(value, Unknown)
        }
        for unmapped in self._around.unmapped:
            if unmapped.message == message and unmapped.address == address:
                beside = {fact: said for fact, said in known.items() if fact != unmapped.fact}
                self._words.add(unmapped, beside, now)


def _states_of(
    reader: Reader, inputs: tuple[Input, ...], zone: ZoneInfo
) -> dict[str, MessageState]:
    rules = rules_of(reader)
    link = rules.get(LINK)
    of_link = {alternative.message for alternative in link.alternatives} if link else set()
    alternatives = [a for rule in rules.values() for a in rule.alternatives]
    states: dict[str, MessageState] = {}
    for name, message in reader.messages.items():
        own = [given for given in inputs if given.message == name]
        means_empty = message.kind == "text" and any(
            _reads_empty(alternative) for alternative in alternatives if alternative.message == name
        )
        states[name] = MessageState(
            message,
            frozenset(given.source for given in own),
            zone,
            many=len(own) > 1 or any(map(_has_wildcards, own)),
            means_empty=means_empty,
            while_link=message.fresh_for_ms is None and name not in of_link,
        )
    return states


def _has_wildcards(given: Input) -> bool:
    return given.source not in ALWAYS_UP and wildcard_count(given.address) > 0


def _reads_empty(alternative: Alternative) -> bool:
    """Whether an empty text means something to an alternative."""
    values = alternative.is_.values if alternative.is_ is not None else ()
    return "" in (*alternative.unless, *alternative.no_value, *values, *(alternative.values or ()))
