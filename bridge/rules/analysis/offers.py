"""What a reader can say: for each fact the values that it can give, and what goes with what.

The rest of the analysis knows readers only by this, so that a table can also be looked at for
every reader that there could be.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import Final

from bridge.facts.evaluation import rules_of
from bridge.facts.memory import (
    LAST_JOB,
    OWN_REASONS,
    REASONS,
    STALLED,
    TIME_IN_STATE,
    TIME_UNCHANGED,
    VANISHED,
)
from bridge.facts.numbers import limits_of
from bridge.facts.reader import Alternative, FactRule, Reader
from bridge.facts.reason_reading import every_reason_of
from bridge.facts.reasons import KEYWORDS, SUFFIXES, parse_reason
from bridge.facts.values import FactValue, Reason
from bridge.facts.vocabulary import (
    REMEMBERED,
    SITE_PREFIX,
    STALE,
    UNKNOWN_WORD,
    FactName,
    Kind,
    fact_named,
)
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.alarm_states import ALARM_SYMBOLS, symbols_of
from bridge.rules.conditions import LOCAL_TIME, Condition, SymbolIs
from bridge.rules.prompt_states import PROMPT_SYMBOLS
from bridge.rules.table import ALARM_PREFIX, PROMPT_PREFIX

_LINK: Final = "link"
_JOB: Final = "job"
_STATE: Final = "state"
_PROGRESS: Final = "progress"
_NO_VALUE: Final = "no-value"
_OTHER: Final = "other"


@dataclass(frozen=True, slots=True)
class Values:
    """The values that one fact can have. ``numbers`` are the least and the most.

    ``any_text``: other words too. ``any_reason``: every registered keyword at every severity.
    """

    symbols: tuple[str, ...] = ()
    any_text: bool = False
    numbers: tuple[float, float] | None = None
    truths: bool = False
    reasons: frozenset[Reason] = frozenset()
    any_reason: bool = False
    unknown: bool = True

    def together(self, other: Values) -> Values:
        """What either can be."""
        numbers = [each for each in (self.numbers, other.numbers) if each is not None]
        return Values(
            tuple(dict.fromkeys((*self.symbols, *other.symbols))),
            self.any_text or other.any_text,
            (min(least for least, _ in numbers), max(most for _, most in numbers))
            if numbers
            else None,
            self.truths or other.truths,
            self.reasons | other.reasons,
            self.any_reason or other.any_reason,
            self.unknown or other.unknown,
        )


@dataclass(frozen=True, slots=True)
class World:
    """Situations that are possible together: these facts fixed, these lost, these words unsaid."""

    fixed: Mapping[str, FactValue] = field(default_factory=dict)
    lost: frozenset[str] = frozenset()
    unsaid: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Offer:
    """A reader as the analysis sees it. ``worlds`` cover every situation it can bring about."""

    name: str
    values: Mapping[str, Values]
    worlds: tuple[World, ...] = (World(),)
    #: Facts that can be known and need not: where they are unknown, nobody waits for them.
    uncounted: frozenset[str] = frozenset({LOCAL_TIME})

    @property
    def facts(self) -> frozenset[str]:
        """The facts that it offers."""
        return frozenset(self.values) - self.uncounted


#: Whether a row has lasted: it has not, until it is known to have.
LASTED: Final = Values(truths=True, unknown=False)
#: Seconds since midnight; the day on which clocks are set back has none that others have not.
TIME_OF_DAY: Final = Values(numbers=(0.0, math.nextafter(86_400.0, 0.0)))
_TRUTH: Final = Values(truths=True, unknown=False)
#: Where nothing is known of a reader: whatever a site's own fact can be.
_ANYTHING: Final = Values(any_text=True, numbers=(-math.inf, math.inf), truths=True)


def offer_of(reader: Reader, raised: Iterable[Alarm | Prompt] = ()) -> Offer:
    """What this reader can give, what the bridge remembers of it, and how these alarms stand.

    ``raised`` are the alarms and prompts that it may raise; of those that need a fact which is not
    offered nobody waits to know how they stand.
    """
    rules = rules_of(reader)
    values = {name: _values_of(rule, _named(name)) for name, rule in rules.items()}
    values |= _remembered(values)
    own = Values(reasons=_own_reasons(rules))
    heard = values.get(REASONS)
    values[REASONS] = own if heard is None else heard.together(own)
    values[OWN_REASONS] = Values(reasons=own.reasons, unknown=False)
    uncounted = {LOCAL_TIME, *([] if heard else [REASONS])}
    values.setdefault(_LINK, Values(("up",)))
    values[STALE.name] = _TRUTH
    for each in raised:
        facts = {condition.fact for condition in each.when}
        if not facts <= values.keys() | {LOCAL_TIME}:
            continue
        prefix = ALARM_PREFIX if isinstance(each, Alarm) else PROMPT_PREFIX
        symbols = symbols_of(each.sequence) if isinstance(each, Alarm) else PROMPT_SYMBOLS
        unknown = any(_can_be_unknown(values, condition) for condition in each.when)
        values[f"{prefix}{each.name}"] = Values(symbols, unknown=unknown)
        if facts & uncounted:
            uncounted.add(f"{prefix}{each.name}")
    worlds = _worlds(reader, rules, () if heard else (REASONS,))
    return Offer(reader.name, values, worlds, frozenset(uncounted))


def _remembered(values: Mapping[str, Values]) -> dict[str, Values]:
    """What the memory makes of what the reader says."""
    found: dict[str, Values] = {}
    if _JOB in values:
        heard = values[_JOB].symbols
        known = REMEMBERED[LAST_JOB].symbols
        outcomes = [word for word in known if word in heard or word == _NO_VALUE]
        found[LAST_JOB] = Values(tuple(outcomes), unknown=False)
    if _STATE in values:
        found[TIME_IN_STATE] = Values(numbers=(0.0, math.inf))
    if _PROGRESS in values:
        found[TIME_UNCHANGED] = Values(numbers=(0.0, math.inf))
    return found


def _own_reasons(rules: Mapping[str, FactRule]) -> frozenset[Reason]:
    """Faults that the bridge itself finds in what the reader says."""
    vanished = [VANISHED] if _JOB in rules or _STATE in rules else []
    stalled = [STALLED] if _STATE in rules and _PROGRESS in rules else []
    return frozenset([*vanished, *stalled])


def _can_be_unknown(values: Mapping[str, Values], condition: Condition) -> bool:
    if isinstance(condition, SymbolIs) and condition.unknown:
        return False
    return condition.fact not in values or values[condition.fact].unknown


def any_offer(facts: Iterable[str]) -> Offer:
    """A reader that gives all of these facts, whatever they can be."""
    return Offer("", {name: _any_values(name) for name in sorted({*facts, _LINK, STALE.name})})


def _any_values(name: str) -> Values:
    if name.startswith(ALARM_PREFIX):
        return Values(ALARM_SYMBOLS)
    if name.startswith(PROMPT_PREFIX):
        return Values(PROMPT_SYMBOLS)
    if name == OWN_REASONS:
        return Values(reasons=frozenset({VANISHED, STALLED}), unknown=False)
    return TIME_OF_DAY if name == LOCAL_TIME else _all_of(_named(name))


def _named(name: str) -> FactName:
    return fact_named(name) or FactName(name, Kind.TEXT)


def _all_of(fact: FactName) -> Values:
    if fact.kind is Kind.TRUTH:
        return _TRUTH
    if fact.kind is Kind.REASONS:
        return Values(any_reason=True)
    if fact.kind is Kind.NUMBER:
        return Values(numbers=_limits(fact))
    if fact.name.startswith(SITE_PREFIX):
        return _ANYTHING
    return Values(fact.symbols, any_text=fact.kind is Kind.TEXT)


def _limits(fact: FactName) -> tuple[float, float]:
    least = -math.inf if fact.least is None else fact.least
    return least, math.inf if fact.most is None else fact.most


def _values_of(rule: FactRule, fact: FactName) -> Values:
    values = Values()
    for alternative in rule.alternatives:
        values = values.together(_of_alternative(alternative, fact))
    return values


def _of_alternative(alternative: Alternative, fact: FactName) -> Values:
    if fact.kind is Kind.REASONS:
        return _reasons_of(alternative)
    no_value = (_NO_VALUE,) if fact.name == _JOB and alternative.no_value else ()
    if alternative.gives is not None:
        return _given(alternative.gives, fact).together(Values(no_value))
    if alternative.values is not None:
        words = [str(word) for word in alternative.values.values() if word != UNKNOWN_WORD]
        return Values((*words, *no_value))
    if fact.kind is Kind.NUMBER:
        return Values(numbers=limits_of(alternative, fact))
    return _all_of(fact).together(Values(no_value))


def _given(value: object, fact: FactName) -> Values:
    if isinstance(value, bool) and fact.kind is not Kind.NUMBER:
        return Values(truths=True)
    if isinstance(value, int | float):
        return Values(numbers=(float(value), float(value)))
    return Values((str(value),))


def _reasons_of(alternative: Alternative) -> Values:
    reasons = every_reason_of(alternative)
    return Values(any_reason=True) if reasons is None else Values(reasons=reasons)


def reasons_offered(offer: Offer, named: AbstractSet[str]) -> set[Reason]:
    """Every reason that it can give; of all there are, those named and one for the others."""
    values = offer.values.get(REASONS, Values())
    found = set(values.reasons | offer.values.get(OWN_REASONS, Values()).reasons)
    if values.any_reason:
        for keyword in (*sorted(named), other_keyword(named)):
            found.update(every_reason(keyword))
    return found


def every_reason(keyword: str) -> tuple[Reason, ...]:
    """A keyword bare and with each suffix."""
    return tuple(parse_reason(keyword + suffix) for suffix in ("", *SUFFIXES))


def other_keyword(named: Iterable[str]) -> str:
    """A registered keyword that is none of these: the one for all others, if it can be."""
    free = KEYWORDS - set(named)
    return _OTHER if _OTHER in free else min(free)


def _worlds(
    reader: Reader, rules: Mapping[str, FactRule], never: Iterable[str]
) -> tuple[World, ...]:
    """Heard, or late with one of the required messages, or cut off: nothing known but that."""
    required = [message.name for message in reader.messages.values() if message.required]
    facts = frozenset((*rules, *never)) - {_LINK}
    heard = World({STALE.name: False}, frozenset(never), unsaid={_LINK: "down"})
    alone = len(required) == 1
    late = [
        World({STALE.name: True}, _bound(name, rules, alone=alone).union(never), {_LINK: "down"})
        for name in required
    ]
    cut_off = [World({_LINK: "down"}, _with_times(facts))] if _LINK in rules else []
    return (heard, *late, *cut_off)


def _with_times(lost: frozenset[str]) -> frozenset[str]:
    """How long something has been so is not known of what is not known itself."""
    times = {_STATE: TIME_IN_STATE, _PROGRESS: TIME_UNCHANGED}
    return lost.union(times[name] for name in times if name in lost)


def _first_ratio(rule: FactRule) -> tuple[str, ...]:
    return (rule.alternatives[0].ratio or ()) if rule.alternatives else ()


def _bound(message: str, rules: Mapping[str, FactRule], *, alone: bool) -> frozenset[str]:
    """The facts that nobody can know while this message is not fresh.

    The message of the first alternative ends the search; a union of reasons stays open; a ratio
    goes with its parts. Without a rule of its own the link goes with the only required message.
    """
    bound: set[str] = set()
    for name, rule in rules.items():
        plain = [each for each in rule.alternatives if each.ratio is None]
        consulted = plain if _named(name).kind is Kind.REASONS else rule.alternatives[:1]
        if any(each.ratio is None and each.message == message for each in consulted):
            bound.add(name)
    while more := {
        name
        for name, rule in rules.items()
        if name not in bound and not bound.isdisjoint(_first_ratio(rule))
    }:
        bound |= more
    if alone and _LINK not in rules:
        bound.add(_LINK)
    return _with_times(frozenset(bound))
