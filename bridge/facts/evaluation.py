"""A reader's facts as functions over what is held: freshness first, then the alternatives.

Compiled once for a printer. Each fact is one closure; the documents that it reads are captured,
so that a message costs only the facts that read it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias
from zoneinfo import ZoneInfo

from bridge.facts.documents import MessageState
from bridge.facts.forms import CompiledForm, compile_form
from bridge.facts.judging import NOTHING, Nothing
from bridge.facts.moment import Moment
from bridge.facts.numbers import limits_of
from bridge.facts.places import ABSENT, Absent, Place
from bridge.facts.reader import Alternative, FactRule, Form, Reader
from bridge.facts.reading import Forms, Read, compile_read
from bridge.facts.reason_asking import (
    AskReasons,
    asking,
    expecting,
    first_reasons,
    union,
)
from bridge.facts.reason_reading import compile_reasons
from bridge.facts.surroundings import Evaluate, Surroundings, UnmappedWord, why_not
from bridge.facts.values import FactValue, Unknown, Why
from bridge.facts.vocabulary import FactName, Kind, fact_named

_Ask: TypeAlias = Callable[[Moment], FactValue | Absent | Nothing]


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
            asks = [
                self._ask_reasons(alternative, rule, number)
                for number, alternative in enumerate(rule.alternatives)
            ]
            combine = union if rule.union else first_reasons
            return combine(asks, _absent(rule), absent_none=rule.absent_none)
        return _first(
            [
                self._ask(alternative, fact, number)
                for number, alternative in enumerate(rule.alternatives)
            ],
            _absent(rule),
        )

    def _ask(self, alternative: Alternative, fact: FactName, number: int) -> _Ask:
        if alternative.ratio is not None:
            return _ratio(alternative, fact, self.around.facts)
        state = self.states[alternative.message]
        text = state.message.kind == "text"
        forms = self.forms.get(state.name, ())
        read = compile_read(alternative, fact, forms, self.zone, text=text)
        met = UnmappedWord(fact.name, "", state.name, "", number)
        if state.many:
            return _ask_many(state, read, met, self.around)
        return _ask_one(state, read, met, self.around)

    def _ask_reasons(self, alternative: Alternative, rule: FactRule, number: int) -> AskReasons:
        state = self.states[alternative.message]
        read = compile_reasons(
            alternative,
            self.forms.get(state.name, ()),
            text=state.message.kind == "text",
            absent_none=rule.absent_none or alternative.absent_none,
            ordered=not rule.union,
        )
        ask = asking(state, read, self.around, number, silence_none=alternative.absent_none)
        return expecting(alternative, state, ask) if alternative.expects else ask


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


def _ask_one(state: MessageState, read: Read, met: UnmappedWord, around: Surroundings) -> _Ask:
    held = state.one

    def ask(now: Moment) -> FactValue | Absent | Nothing:
        if held.why is not None or state.while_link:
            unknown = why_not(held, state, around)
            if unknown is not None:
                return unknown
        value = read(held.document, held.wildcards, now)
        if type(value) is Unknown and value.why is Why.UNMAPPED:
            around.unmapped.append(replace(met, word=value.detail, address=held.address))
        return value

    return ask


def _ask_many(state: MessageState, read: Read, met: UnmappedWord, around: Surroundings) -> _Ask:
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
                    around.unmapped.append(replace(met, word=value.detail, address=held.address))
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
            # Layers of 0: a job whose length is not known yet, and no mistake.
            return Unknown(Why.NO_VALUE, f"{under} is 0")
        ratio = parts[0] / parts[1]
        if least <= ratio <= most:
            return ratio
        return Unknown(Why.OUT_OF_RANGE, f"{parts[0]:g} of {parts[1]:g}")

    return ask
