"""A reader's facts as functions over what is held: freshness first, then the alternatives.

Compiled once for a printer. Each fact is one closure; the documents that it reads are captured,
so that a message costs only the facts that read it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias
from zoneinfo import ZoneInfo

from bridge.facts.contributions import (
    NO_CONTRIBUTION,
    NO_REASONS,
    Contribution,
    ReadReasons,
    together,
)
from bridge.facts.documents import MessageState
from bridge.facts.forms import CompiledForm, compile_form
from bridge.facts.held import MOST_ADDRESSES, Held
from bridge.facts.judging import NOTHING, Nothing
from bridge.facts.moment import Moment
from bridge.facts.numbers import limits_of
from bridge.facts.places import ABSENT, Absent, Place
from bridge.facts.reader import Alternative, FactRule, Form, Reader
from bridge.facts.reading import Forms, Read, compile_read
from bridge.facts.reason_reading import compile_reasons
from bridge.facts.values import FactValue, Reasons, Unknown, Why
from bridge.facts.vocabulary import FactName, Kind, fact_named


@dataclass(frozen=True, slots=True)
class UnmappedWord:
    """A word without a mapping, and where it was met."""

    fact: str
    word: str
    message: str
    address: str


@dataclass(slots=True)
class Surroundings:
    """What a printer's facts look at besides the documents."""

    facts: dict[str, FactValue]
    link_up: bool
    #: Words without a mapping that were met since this was last emptied.
    unmapped: list[UnmappedWord]


Evaluate: TypeAlias = Callable[[Moment], FactValue]
_Ask: TypeAlias = Callable[[Moment], FactValue | Absent | Nothing]
#: What one alternative contributes; ``True`` beside it: a place or an address was absent.
_AskReasons: TypeAlias = Callable[[], tuple[list[Contribution], bool]]


@dataclass(frozen=True, slots=True)
class Plan:
    """How one fact is found. ``timed``: its value depends on the instant, not on documents only."""

    fact: str
    evaluate: Evaluate
    messages: frozenset[str]
    timed: bool


def rules_of(reader: Reader) -> dict[str, FactRule]:
    """The rules of a reader, with what its forms say of facts behind them."""
    rules = dict(reader.facts)
    for form in reader.forms:
        for name, read in _of_form(form):
            rule = rules.get(name, FactRule(name, ()))
            if read not in rule.alternatives:
                alternatives = (*rule.alternatives, read)
                rules[name] = FactRule(name, alternatives, rule.union, rule.absent_none)
    return rules


def _of_form(form: Form) -> Iterator[tuple[str, Alternative]]:
    """The facts that a form's parts are named after, and those that the form itself gives."""
    for name in compile_form(form.text).names:
        if fact_named(name) is not None:
            yield name, Alternative(message=form.message, part=name)
    for name, value in form.gives:
        yield name, Alternative(message=form.message, form=form.text, at=form.at, gives=value)


def at_once(rules: Mapping[str, FactRule], watched: frozenset[str]) -> frozenset[str]:
    """The facts to find with every message, when these are what somebody waits for.

    Those, what they divide, and all that is said in words: a word without a mapping must be kept
    when it is heard. Numbers and names that nobody waits for can be found when they are looked at.
    """
    named = {
        name
        for name, rule in rules.items()
        if name in watched
        or (fact_named(name) or FactName(name, Kind.TEXT)).kind in {Kind.SYMBOL, Kind.REASONS}
        or any(alternative.values for alternative in rule.alternatives)
    }
    waiting = list(named)
    while waiting:
        rule = rules.get(waiting.pop())
        parts = set() if rule is None else set(_parts_of(rule)) - named
        named |= parts
        waiting.extend(parts)
    return frozenset(named)


def compile_plans(
    reader: Reader, states: Mapping[str, MessageState], zone: ZoneInfo, around: Surroundings
) -> tuple[Plan, ...]:
    """A plan for each fact of the reader, ratios after what they divide."""
    rules = rules_of(reader)
    forms: dict[str, list[tuple[CompiledForm, Place | None]]] = {}
    for form in reader.forms:
        forms.setdefault(form.message, []).append((compile_form(form.text), form.at))
    compiler = _Compiler(states, forms, zone, around)
    return tuple(
        Plan(
            rule.fact,
            compiler.fact(rule),
            messages_of(rule.fact, rules),
            any(alternative.ends_at is not None for alternative in rule.alternatives),
        )
        for rule in _in_order(rules)
    )


def _in_order(rules: Mapping[str, FactRule]) -> list[FactRule]:
    """The rules so that each stands behind those that it divides."""
    ordered: dict[str, FactRule] = {}

    def add(name: str, above: tuple[str, ...]) -> None:
        if name in ordered or name in above or name not in rules:
            return
        for part in _parts_of(rules[name]):
            add(part, (*above, name))
        ordered[name] = rules[name]

    for name in rules:
        add(name, ())
    return list(ordered.values())


def _parts_of(rule: FactRule) -> Iterable[str]:
    return (part for alternative in rule.alternatives for part in alternative.ratio or ())


def messages_of(fact: str, rules: Mapping[str, FactRule]) -> frozenset[str]:
    """Every message that a fact depends on, through ratios too."""
    seen: set[str] = set()
    messages: set[str] = set()
    waiting = [fact]
    while waiting:
        name = waiting.pop()
        if name in seen or name not in rules:
            continue
        seen.add(name)
        messages.update(a.message for a in rules[name].alternatives if a.ratio is None)
        waiting.extend(_parts_of(rules[name]))
    return frozenset(messages)


@dataclass(frozen=True, slots=True)
class _Compiler:
    states: Mapping[str, MessageState]
    forms: Mapping[str, Forms]
    zone: ZoneInfo
    around: Surroundings

    def fact(self, rule: FactRule) -> Evaluate:
        fact = fact_named(rule.fact) or FactName(rule.fact, Kind.TEXT)
        if fact.kind is Kind.REASONS:
            asks = [self._ask_reasons(alternative, rule) for alternative in rule.alternatives]
            combine = _union if rule.union else _first_reasons
            return combine(asks, _absent(rule), absent_none=rule.absent_none)
        return _first(
            [self._ask(alternative, fact) for alternative in rule.alternatives], _absent(rule)
        )

    def _ask(self, alternative: Alternative, fact: FactName) -> _Ask:
        if alternative.ratio is not None:
            return _ratio(alternative, fact, self.around.facts)
        state = self.states[alternative.message]
        text = state.message.kind == "text"
        forms = self.forms.get(state.name, ())
        read = compile_read(alternative, fact, forms, self.zone, text=text)
        if state.many:
            return _ask_many(state, read, fact.name, self.around)
        return _ask_one(state, read, fact.name, self.around)

    def _ask_reasons(self, alternative: Alternative, rule: FactRule) -> _AskReasons:
        state = self.states[alternative.message]
        read = compile_reasons(
            alternative,
            self.forms.get(state.name, ()),
            text=state.message.kind == "text",
            absent_none=rule.absent_none or alternative.absent_none,
        )
        ask = _reasons_of(state, read, self.around)
        if alternative.expects:
            ask = _expecting(alternative, state, ask)
        return _none_where_absent(ask) if alternative.absent_none else ask


def _absent(rule: FactRule) -> Unknown:
    """Where a fact was looked for in vain."""
    places = (
        f"{alternative.message} {alternative.at.text if alternative.at else ''}".strip()
        for alternative in rule.alternatives
        if alternative.ratio is None
    )
    return Unknown(Why.ABSENT, ", ".join(dict.fromkeys(places)))


def _first(asks: list[_Ask], absent: Unknown) -> Evaluate:
    """The first alternative that is neither absent nor passed over."""
    if len(asks) == 1:
        (only,) = asks

        def evaluate_only(now: Moment) -> FactValue:
            value = only(now)
            return absent if value is ABSENT or value is NOTHING else value

        return evaluate_only

    def evaluate(now: Moment) -> FactValue:
        for ask in asks:
            value = ask(now)
            if value is not ABSENT and value is not NOTHING:
                return value
        return absent

    return evaluate


def why_not(held: Held, state: MessageState, around: Surroundings) -> Unknown | None:
    """Why a document does not count now, or ``None``."""
    if held.why is not None:
        return Unknown(held.why, state.name)
    if state.while_link and not around.link_up:
        return Unknown(Why.LINK_NOT_UP, state.name)
    return None


def _ask_one(state: MessageState, read: Read, fact: str, around: Surroundings) -> _Ask:
    held = state.one

    def ask(now: Moment) -> FactValue | Absent | Nothing:
        if held.why is not None or state.while_link:
            unknown = why_not(held, state, around)
            if unknown is not None:
                return unknown
        value = read(held.document, held.wildcards, now)
        if type(value) is Unknown and value.why is Why.UNMAPPED:
            around.unmapped.append(UnmappedWord(fact, value.detail, state.name, held.address))
        return value

    return ask


def _ask_many(state: MessageState, read: Read, fact: str, around: Surroundings) -> _Ask:
    """Several addresses and one value: they must agree, and each must count."""

    def ask(now: Moment) -> FactValue | Absent | Nothing:
        if not state.by_address:
            return Unknown(state.why_none, state.name)
        values: set[FactValue] = set()
        for held in state.all_held():
            unknown = why_not(held, state, around)
            if unknown is not None:
                return unknown
            value = read(held.document, held.wildcards, now)
            if value is ABSENT or value is NOTHING:
                continue
            if isinstance(value, Unknown):
                if value.why is Why.UNMAPPED:
                    word = UnmappedWord(fact, value.detail, state.name, held.address)
                    around.unmapped.append(word)
                return value
            values.add(value)
        if len(values) > 1 or state.overflowed:
            return Unknown(Why.WRONG_TYPE, f"unlike values on the addresses of {state.name}")
        return values.pop() if values else ABSENT

    return ask


def _ratio(alternative: Alternative, fact: FactName, facts: Mapping[str, FactValue]) -> _Ask:
    over, under = alternative.ratio or ("", "")
    least, most = limits_of(alternative, fact)

    def ask(_now: Moment) -> FactValue | Absent | Nothing:
        parts: list[float] = []
        for name in (over, under):
            value = facts.get(name, Unknown(Why.NOT_OFFERED, name))
            if isinstance(value, Unknown):
                return value
            if not isinstance(value, float):
                return Unknown(Why.WRONG_TYPE, f"{name} is no number")
            parts.append(value)
        if parts[1] == 0.0:
            return Unknown(Why.OUT_OF_RANGE, f"{under} is 0")
        ratio = parts[0] / parts[1]
        if least <= ratio <= most:
            return ratio
        return Unknown(Why.OUT_OF_RANGE, f"{parts[0]:g} of {parts[1]:g}")

    return ask


_REASONS: Final = "reasons"


def _reasons_of(state: MessageState, read: ReadReasons, around: Surroundings) -> _AskReasons:
    def ask() -> tuple[list[Contribution], bool]:
        contributions: list[Contribution] = []
        absent = False
        if state.many:
            contributions = _of_no_document(state, around)
            absent = not state.by_address and not contributions
        for held in state.all_held():
            if held.why is not None or state.while_link:
                unknown = why_not(held, state, around)
                if unknown is not None:
                    contributions.append(Contribution((), (unknown,)))
                    continue
            found = read(held.document, held.wildcards)
            if found is ABSENT:
                absent = True
            elif found is not NOTHING:
                contributions.append(found)
                if found.open_because:
                    _note_unmapped(found, state.name, held.address, around)
        return contributions, absent

    return ask


def _expecting(alternative: Alternative, state: MessageState, ask: _AskReasons) -> _AskReasons:
    """Whatever else was heard: what was expected and not heard may be a reason."""
    index = (alternative.wildcard or 1) - 1

    def ask_all() -> tuple[list[Contribution], bool]:
        contributions, absent = ask()
        heard = {held.wildcards[index] for held in state.all_held() if held.wildcards[index:]}
        missing = [word for word in alternative.expects if word not in heard]
        unknowns = tuple(Unknown(Why.NOT_HEARD, f"{state.name} {word}") for word in missing)
        return [*contributions, *([Contribution((), unknowns)] if unknowns else [])], absent

    return ask_all


def _none_where_absent(ask: _AskReasons) -> _AskReasons:
    def ask_again() -> tuple[list[Contribution], bool]:
        contributions, absent = ask()
        return [*contributions, *([NO_CONTRIBUTION] if absent else [])], False

    return ask_again


def _of_no_document(state: MessageState, around: Surroundings) -> list[Contribution]:
    """What a wildcard leaves open besides its documents.

    That nothing arrived says something only while it could have arrived.
    """
    if state.overflowed:
        many = Unknown(Why.INCOMPLETE, f"more than {MOST_ADDRESSES} addresses of {state.name}")
        return [Contribution((), (many,))]
    if state.many and not state.by_address:
        if state.why_none is not Why.NOT_HEARD:
            return [Contribution((), (Unknown(state.why_none, state.name),))]
        if state.while_link and not around.link_up:
            return [Contribution((), (Unknown(Why.LINK_NOT_UP, state.name),))]
    return []


def _note_unmapped(found: Contribution, message: str, address: str, around: Surroundings) -> None:
    for unknown in found.open_because:
        if unknown.why is Why.UNMAPPED:
            around.unmapped.append(UnmappedWord(_REASONS, unknown.detail, message, address))


def _union(asks: list[_AskReasons], absent: Unknown, *, absent_none: bool) -> Evaluate:
    """Everything that any alternative knows of."""
    open_absent = Contribution((), (absent,))
    last: list[Contribution] = []
    last_reasons = NO_REASONS

    def evaluate(_now: Moment) -> Reasons:
        nonlocal last, last_reasons
        contributions: list[Contribution] = []
        for ask in asks:
            found, is_absent = ask()
            contributions.extend(found)
            if is_absent and not absent_none:
                contributions.append(open_absent)
        # Reasons change seldom, and the reads give the same contribution for the same word.
        if contributions != last:
            last, last_reasons = contributions, together(contributions)
        return last_reasons

    return evaluate


def _first_reasons(asks: list[_AskReasons], absent: Unknown, *, absent_none: bool) -> Evaluate:
    """The first alternative that is neither absent nor passed over.

    Where every one of them was passed over, the printer says that there is no reason.
    """

    def evaluate(_now: Moment) -> FactValue:
        any_absent = False
        for ask in asks:
            found, is_absent = ask()
            if found:
                return together(found)
            any_absent = any_absent or is_absent
        return absent if any_absent and not absent_none else NO_REASONS

    return evaluate
