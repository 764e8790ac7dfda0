"""Conditions on facts: closed, typed, and three-valued. Only this room evaluates them.

The truth table, one line per condition (``?`` is unknown; a test has a cell for every entry):

=====================  ===================  =====================  ==============================
condition              fact is wanted       fact is another value  fact is unknown
=====================  ===================  =====================  ==============================
symbol                 true                 false                  ?
symbol, with unknown   true                 false                  true
not symbol             false                true                   ?
not, with unknown      false                true                   false
symbol ``unknown``     -                    false                  true
number in interval     true                 false                  ?
time of day            true                 false                  ?
truth (``stale``)      true                 false                  (always known)
=====================  ===================  =====================  ==============================

=====================  ===================  =====================  ==============================
reasons                wanted one known     none known, complete   none known, perhaps more
=====================  ===================  =====================  ==============================
any                    true                 false                  ?
all                    true when all are    false                  ? while one is missing
none                   false                true                   ?
severity at least      true                 false                  ?
=====================  ===================  =====================  ==============================

The word ``unknown`` in a symbol set makes the test two-valued: whoever writes it has said what
not knowing means. Every other test on an unknown fact, negations included, is unknown.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, TypeAlias

from bridge.facts.reader import Interval
from bridge.facts.truth import NOT, Truth, all_of, truth_of
from bridge.facts.values import Facts, FactValue, Reason, Reasons, Severity, Unknown, Why

#: Seconds since local midnight, from the wall clock and the site's zone.
LOCAL_TIME: Final = "local-time"
#: Half-open: the first number that is in it, and the first that is over.
Span: TypeAlias = tuple[float, float]

_NOT_OFFERED = Unknown(Why.NOT_OFFERED)


@dataclass(frozen=True, slots=True)
class SymbolIs:
    """A symbol is one of ``wanted``; ``unknown`` adds the unknown; ``negated`` turns it round.

    ``text`` says it in other words than its own, for what is written otherwise.
    """

    fact: str
    wanted: frozenset[str]
    unknown: bool = False
    negated: bool = False
    text: str = ""

    def test(self, facts: Facts) -> Truth:
        """Two-valued where the word ``unknown`` is among the symbols, else three-valued."""
        value = facts.get(self.fact, _NOT_OFFERED)
        if isinstance(value, Unknown):
            return truth_of(not self.negated) if self.unknown else Truth.UNKNOWN
        return truth_of((value in self.wanted) is not self.negated)

    def __str__(self) -> str:
        if self.text:
            return self.text
        words = [*sorted(self.wanted), *(["unknown"] if self.unknown else [])]
        return f"{self.fact} is {'not ' if self.negated else ''}{' or '.join(words)}"


@dataclass(frozen=True, slots=True)
class NumberIn:
    """A number lies in an interval with stated ends."""

    fact: str
    interval: Interval
    text: str

    def test(self, facts: Facts) -> Truth:
        """Unknown when the number is."""
        value = facts.get(self.fact, _NOT_OFFERED)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return truth_of(self.interval.holds(value))
        return Truth.UNKNOWN

    @property
    def spans(self) -> tuple[Span, ...]:
        """The numbers for which it is true."""
        return (span(self.interval),)

    def __str__(self) -> str:
        return f"{self.fact} {self.text}"


@dataclass(frozen=True, slots=True)
class TimeOfDay:
    """The local time lies from ``begin`` on and before ``before``, in seconds since midnight.

    Where it ends no later than it begins it goes on over midnight; both alike is the whole day.
    """

    begin: float
    before: float
    text: str
    fact: str = LOCAL_TIME

    def test(self, facts: Facts) -> Truth:
        """Unknown while the wall clock is."""
        value = facts.get(self.fact, _NOT_OFFERED)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return truth_of(any(begin <= value < end for begin, end in self.spans))
        return Truth.UNKNOWN

    @property
    def spans(self) -> tuple[Span, ...]:
        """The seconds of a day for which it is true."""
        if self.begin < self.before:
            return ((self.begin, self.before),)
        return ((-math.inf, self.before), (self.begin, math.inf))

    def __str__(self) -> str:
        return f"{self.fact} {self.text}"


@dataclass(frozen=True, slots=True)
class TruthIs:
    """A truth such as ``stale`` is what it should be."""

    fact: str
    wanted: bool
    text: str = ""

    def test(self, facts: Facts) -> Truth:
        """``stale`` is never unknown: not hearing is itself a fact."""
        value = facts.get(self.fact, _NOT_OFFERED)
        return Truth.UNKNOWN if isinstance(value, Unknown) else truth_of(value is self.wanted)

    def __str__(self) -> str:
        return self.text or f"{self.fact} is {str(self.wanted).lower()}"


@dataclass(frozen=True, slots=True)
class Keyword:
    """A reason looked for; without a ``severity`` it matches every one."""

    keyword: str
    severity: Severity | None = None

    def matches(self, reason: Reason) -> bool:
        """Keyword equal, and the severity where one was asked for."""
        return self.keyword == reason.keyword and self.severity in (None, reason.severity)

    def __str__(self) -> str:
        return self.keyword + (f"-{self.severity.name.lower()}" if self.severity else "")


@dataclass(frozen=True, slots=True)
class ReasonsHave:
    """Any of, all of, or none of these reasons."""

    how: str  # "any", "all" or "none"
    keywords: tuple[Keyword, ...]
    fact: str = "reasons"

    def test(self, facts: Facts) -> Truth:
        """By the known reasons first; where they do not settle it, by whether more can hold."""
        value = facts.get(self.fact, _NOT_OFFERED)
        if not isinstance(value, Reasons):
            return Truth.UNKNOWN
        found = [any(word.matches(reason) for reason in value.known) for word in self.keywords]
        if self.how == "all":
            return Truth.TRUE if all(found) else _missing(value)
        present = Truth.TRUE if any(found) else _missing(value)
        return NOT[present] if self.how == "none" else present

    def __str__(self) -> str:
        return f"reasons have {self.how} of {', '.join(map(str, self.keywords))}"


@dataclass(frozen=True, slots=True)
class SeverityAtLeast:
    """Some reason is at least this severe."""

    severity: Severity
    fact: str = "reasons"

    def test(self, facts: Facts) -> Truth:
        """True as soon as one known reason is severe enough."""
        value = facts.get(self.fact, _NOT_OFFERED)
        if not isinstance(value, Reasons):
            return Truth.UNKNOWN
        if any(reason.severity.value >= self.severity.value for reason in value.known):
            return Truth.TRUE
        return _missing(value)

    def __str__(self) -> str:
        return f"reasons have one that is {self.severity.name.lower()} or worse"


Condition: TypeAlias = SymbolIs | NumberIn | TimeOfDay | TruthIs | ReasonsHave | SeverityAtLeast


def all_hold(conditions: Iterable[Condition], facts: Facts) -> Truth:
    """Whether all of them hold; of none at all, they do."""
    return all_of(condition.test(facts) for condition in conditions)


def span(interval: Interval) -> Span:
    """The half-open range of numbers, first and the first that is over, that an interval holds."""
    begin = -math.inf if interval.least is None else interval.least
    end = math.inf if interval.most is None else interval.most
    if interval.least is not None and not interval.least_included:
        begin = math.nextafter(begin, math.inf)
    if interval.most is not None and interval.most_included:
        end = math.nextafter(end, math.inf)
    return begin, end


def _missing(reasons: Reasons) -> Truth:
    return Truth.FALSE if reasons.complete else Truth.UNKNOWN


def shown(value: FactValue) -> str:
    """A fact's value in words, the same for log, page and explain."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:g}"
    return str(value)
