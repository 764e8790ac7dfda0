"""Conditions and given facts of ``rules.yaml``, each judged by the kind of its fact."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from bridge.facts.memory import OWN_REASONS, REASONS
from bridge.facts.reader import Interval
from bridge.facts.reasons import ReasonError, is_known_keyword, parse_reason, split_severity
from bridge.facts.values import FactValue, Reasons, Severity, Unknown, Why
from bridge.facts.vocabulary import (
    BRIDGE_PREFIX,
    SITE_PREFIX,
    UNKNOWN_WORD,
    FactName,
    Kind,
    fact_named,
)
from bridge.rules.conditions import (
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TruthIs,
)
from bridge.settings.nearest import listed, meant, shown
from bridge.settings.quantities import CELSIUS, DURATION, PER_CENT, Quantity
from bridge.settings.rules_file import COLUMN_FACTS, Test
from bridge.settings.shapes import sentence
from bridge.settings.spot import Spot
from bridge.settings.times_of_day import time_of_day, time_span

#: Words in ``text`` for the ends of an interval, by their keys.
_ENDS: Final = {"above": "above", "at_least": "at least", "below": "below", "at_most": "at most"}
_LOCAL_TIME: Final = "local_time"
_TIMES: Final = {"from_", "before"}
_REASON_KEYS: Final = ("any", "all", "none")
_SEVERITIES: Final = {
    severity.name.lower(): severity for severity in Severity if severity is not Severity.NEUTRAL
}


def conditions_of(name: str, test: object, spot: Spot) -> Iterator[Condition]:
    """The conditions that one column means; none, and a problem, where it cannot be."""
    if name == _LOCAL_TIME:
        yield from _of_local_time(test, spot)
        return
    fact = fact_named(COLUMN_FACTS.get(name, name))
    if fact is None:
        return
    if fact.kind is Kind.TRUTH:
        if isinstance(test, bool):
            yield TruthIs(name, test)
        else:
            spot.wrong(f"is {_what(test)}, expected true or false")
    elif fact.kind is Kind.REASONS:
        yield from _of_reasons(test, spot)
    elif isinstance(test, Test) and test.not_ is None and _is_numeric(fact):
        yield from _of_number(fact, test, spot)
    elif isinstance(test, Test):
        yield from _negated(fact, test, spot)
    else:
        yield from _of_symbols(fact, test, spot, negated=False)


def _of_local_time(test: object, spot: Spot) -> Iterator[Condition]:
    if not isinstance(test, Test):
        spot.wrong(f'is {_what(test)}, expected for example {{from: "22:00", before: "06:00"}}')
    elif foreign := test.model_fields_set - _TIMES:
        spot.at(min(foreign).rstrip("_")).wrong_key(
            "is no end of local_time, it has from and before"
        )
    elif (found := time_span(test.from_, test.before, spot)) is not None:
        yield found


def _is_numeric(fact: FactName) -> bool:
    return fact.kind is Kind.NUMBER or fact.name.startswith(SITE_PREFIX)


def _what(test: object) -> str:
    return "a mapping" if isinstance(test, Test) else shown(test)


def _negated(fact: FactName, test: Test, spot: Spot) -> Iterator[Condition]:
    others = test.model_fields_set - {"not_"}
    if test.not_ is None or others:
        if _is_numeric(fact):
            spot.wrong("expected either not, or the ends of an interval")
        else:
            spot.wrong(f"expected a word, a list of words or {{not: …}} for {fact.name}")
        return
    yield from _of_symbols(fact, test.not_, spot.at("not"), negated=True)


def _of_symbols(fact: FactName, words: object, spot: Spot, *, negated: bool) -> Iterator[Condition]:
    several = list(words) if isinstance(words, list) else [words]
    if not several:
        spot.wrong("is an empty list, expected at least one word")
        return
    right = [
        _is_symbol(fact, word, spot.at(index) if isinstance(words, list) else spot)
        for index, word in enumerate(several)
    ]
    if all(right):
        wanted = frozenset(str(word) for word in several)
        yield SymbolIs(fact.name, wanted - {UNKNOWN_WORD}, UNKNOWN_WORD in wanted, negated)


def _is_symbol(fact: FactName, word: object, spot: Spot) -> bool:
    if fact.kind is Kind.NUMBER:
        if word == UNKNOWN_WORD:
            return True
        spot.wrong(f"{shown(word)} is no test of a number, write for example {{{_example(fact)}}}")
        return False
    if not isinstance(word, str):
        quotes = "; put it in quotes" if word is not None else ""
        spot.wrong(f"is {shown(word)}, expected a word{quotes}")
        return False
    symbols = (*fact.symbols, UNKNOWN_WORD)
    if fact.kind is Kind.TEXT or word in symbols:
        return True
    spot.wrong(f"{shown(word)} is no word for {fact.name}{meant(word, symbols)}")
    return False


def _example(fact: FactName) -> str:
    quantity = quantity_of(fact)
    return f"at_least: {quantity.example.split(',')[0]}" if quantity else "at_least: 5"


def quantity_of(fact: FactName) -> Quantity | None:
    """The kind of quantity that a fact's numbers are; ``None`` for bare numbers."""
    if fact.unit == "°C":
        return CELSIUS
    if fact.unit == "s":
        return DURATION
    return PER_CENT if fact.most == 1.0 else None


def number_of(fact: FactName, value: object) -> float:
    """A number in the fact's own unit; raises the sentence that says what was expected."""
    quantity = quantity_of(fact)
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if quantity is None or quantity is PER_CENT:
        if is_number:
            number = float(value)  # type: ignore[arg-type]  # an int or a float, see above
            _check_share(quantity, number)
            return number
        if quantity is None:
            raise sentence(f"{shown(value)} is no number")
    exact = quantity.read(value)
    number = float(exact / 1000 if quantity is DURATION else exact)
    _check_share(quantity, number)
    return number


def _check_share(quantity: Quantity | None, number: float) -> None:
    if quantity is PER_CENT and not 0 <= number <= 1:
        raise sentence(f"{number:g} is no share, expected 0 to 1 or 0 % to 100 %")


def _of_number(fact: FactName, test: Test, spot: Spot) -> Iterator[Condition]:
    ends: dict[str, float] = {}
    words: list[str] = []
    for key, word in _ENDS.items():
        if key not in test.model_fields_set:
            continue
        value = getattr(test, key)
        number = checked_number(fact, value, spot.at(key))
        if number is None:
            return
        ends[key] = number
        words.append(f"{word} {value}")
    if foreign := test.model_fields_set - _ENDS.keys():
        key = min(foreign)
        what = _LOCAL_TIME if key in _TIMES else "reasons"
        spot.at(key.rstrip("_")).wrong_key(f"is for {what}, {fact.name} is a number")
        return
    if not ends:
        spot.wrong(f"is an empty test, write for example {{{_example(fact)}}}")
        return
    interval = _interval(ends, spot)
    if interval:
        yield NumberIn(fact.name, interval, " and ".join(words))


def checked_number(fact: FactName, value: object, spot: Spot) -> float | None:
    """``number_of``, or a problem at ``spot``."""
    try:
        return number_of(fact, value)
    except ValueError as error:
        spot.wrong(str(error))
        return None


def _interval(ends: dict[str, float], spot: Spot) -> Interval | None:
    interval = interval_of(ends)
    if isinstance(interval, str):
        spot.wrong(interval)
        return None
    return interval


def interval_of(ends: dict[str, float]) -> Interval | str:
    """The interval between stated ends, or why there is none."""
    for one, other in (("above", "at_least"), ("below", "at_most")):
        if one in ends and other in ends:
            return f"has both {one} and {other}, expected one of them"
    interval = Interval(
        least=ends.get("above", ends.get("at_least")),
        most=ends.get("below", ends.get("at_most")),
        least_included="above" not in ends,
        most_included="below" not in ends,
    )
    if interval.least is None or interval.most is None or interval.holds(interval.least):
        return interval
    if interval.least < interval.most and not interval.least_included:
        return interval
    return "no number lies between these ends"


def _of_reasons(test: object, spot: Spot) -> Iterator[Condition]:
    if not isinstance(test, Test):
        spot.wrong(f"is {_what(test)}, expected for example {{any: [material-empty]}}")
        return
    keys = test.model_fields_set
    if foreign := keys - {*_REASON_KEYS, "severity"}:
        key = min(foreign)
        spot.at(key.rstrip("_")).wrong_key(
            f"is no test of reasons, expected {listed([*_REASON_KEYS, 'severity'])}"
        )
        return
    if not keys:
        spot.wrong("is an empty test, expected for example {any: [material-empty]}")
    for how in _REASON_KEYS:
        words: list[str] | None = getattr(test, how)
        if words is not None:
            keywords = [keyword_of(word, spot.at(how, index)) for index, word in enumerate(words)]
            known = tuple(keyword for keyword in keywords if keyword)
            if len(known) == len(words):
                yield ReasonsHave(how, known, _reasons_meant(known))
    if test.severity is not None:
        yield from _of_severity(test.severity.at_least, spot.at("severity", "at_least"))


def _reasons_meant(keywords: Iterable[Keyword]) -> str:
    """The bridge's own reasons are known even of a printer that never gives any."""
    own = all(each.keyword.startswith(BRIDGE_PREFIX) for each in keywords)
    return OWN_REASONS if own else REASONS


def _of_severity(word: str, spot: Spot) -> Iterator[Condition]:
    if word in _SEVERITIES:
        yield SeverityAtLeast(_SEVERITIES[word])
    else:
        near = meant(word, _SEVERITIES)
        spot.wrong(f"{shown(word)} is no severity{near}")


def keyword_of(word: str, spot: Spot) -> Keyword | None:
    """A reason that is looked for, or a problem."""
    keyword, severity = split_severity(word)
    if is_known_keyword(keyword):
        return Keyword(keyword, severity)
    try:
        parse_reason(word)
    except ReasonError as error:
        spot.wrong(str(error))
    return None


def given_value(name: str, value: object, spot: Spot) -> FactValue | None:
    """The fact that an ``expect`` case gives, or ``None`` and a problem."""
    if name == _LOCAL_TIME:
        return Unknown(Why.NO_CLOCK) if value == UNKNOWN_WORD else time_of_day(value, spot)
    fact = fact_named(COLUMN_FACTS.get(name, name))
    if fact is None:
        return None
    if value == UNKNOWN_WORD and fact.kind is not Kind.TRUTH:
        return Unknown(Why.NOT_HEARD)
    match fact.kind:
        case Kind.TRUTH:
            return _given_truth(value, spot)
        case Kind.REASONS:
            return _given_reasons(value, spot)
        case Kind.NUMBER:
            return checked_number(fact, value, spot)
        case _:
            return _given_word(fact, value, spot)


def _given_truth(value: object, spot: Spot) -> bool | None:
    if isinstance(value, bool):
        return value
    spot.wrong(f"is {shown(value)}, expected true or false")
    return None


def _given_word(fact: FactName, value: object, spot: Spot) -> FactValue | None:
    if fact.name.startswith(SITE_PREFIX) and isinstance(value, (int, float)):
        return value if isinstance(value, bool) else float(value)
    return value if _is_symbol(fact, value, spot) and isinstance(value, str) else None


def _given_reasons(value: object, spot: Spot) -> Reasons | None:
    if not isinstance(value, list):
        spot.wrong(f"is {shown(value)}, expected a list of reasons or unknown")
        return None
    known = []
    for index, word in enumerate(value):
        try:
            known.append(parse_reason(word))
        except ReasonError as error:
            spot.at(index).wrong(str(error))
            return None
    order = {reason: (reason.keyword, reason.severity.value) for reason in known}
    return Reasons(tuple(sorted(set(known), key=lambda reason: order[reason])))
