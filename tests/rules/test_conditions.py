"""One test for every cell of the truth table in `bridge/rules/conditions.py`."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.facts.reader import Interval
from bridge.facts.truth import Truth
from bridge.facts.values import Facts, FactValue, Reason, Reasons, Severity, Unknown, Why
from bridge.rules.conditions import (
    Condition,
    Keyword,
    NumberIn,
    ReasonsHave,
    SeverityAtLeast,
    SymbolIs,
    TimeOfDay,
    TruthIs,
    all_hold,
    shown,
    span,
)

TRUE, FALSE, UNKNOWN = Truth.TRUE, Truth.FALSE, Truth.UNKNOWN
STALE = Unknown(Why.NOT_FRESH, "page")

WORKING = frozenset({"processing"})
NOTHING: frozenset[str] = frozenset()
SYMBOL = SymbolIs("state", WORKING)
SYMBOL_OR_UNKNOWN = SymbolIs("state", WORKING, unknown=True)
NOT_SYMBOL = SymbolIs("state", WORKING, negated=True)
NOT_SYMBOL_NOR_UNKNOWN = SymbolIs("state", WORKING, unknown=True, negated=True)
ONLY_UNKNOWN = SymbolIs("state", NOTHING, unknown=True)
ANYTHING_KNOWN = SymbolIs("state", NOTHING, unknown=True, negated=True)

SYMBOL_CELLS = [
    (SYMBOL, "processing", TRUE),
    (SYMBOL, "idle", FALSE),
    (SYMBOL, STALE, UNKNOWN),
    (SYMBOL_OR_UNKNOWN, "processing", TRUE),
    (SYMBOL_OR_UNKNOWN, "idle", FALSE),
    (SYMBOL_OR_UNKNOWN, STALE, TRUE),
    (NOT_SYMBOL, "processing", FALSE),
    (NOT_SYMBOL, "idle", TRUE),
    (NOT_SYMBOL, STALE, UNKNOWN),
    (NOT_SYMBOL_NOR_UNKNOWN, "processing", FALSE),
    (NOT_SYMBOL_NOR_UNKNOWN, "idle", TRUE),
    (NOT_SYMBOL_NOR_UNKNOWN, STALE, FALSE),
    (ONLY_UNKNOWN, "idle", FALSE),
    (ONLY_UNKNOWN, STALE, TRUE),
    (ANYTHING_KNOWN, "idle", TRUE),
    (ANYTHING_KNOWN, STALE, FALSE),
]


@pytest.mark.parametrize(("condition", "value", "truth"), SYMBOL_CELLS)
def test_a_symbol_is_two_valued_only_where_unknown_is_written(
    condition: Condition, value: FactValue, truth: Truth
) -> None:
    """Whoever writes the word has said what not knowing means; else not knowing stays unknown."""
    assert condition.test({"state": value}) is truth


HALF = NumberIn("progress", Interval(least=0.5, most=1.0, most_included=False), "from 0.5 below 1")
NUMBER_CELLS = [
    (0.5, TRUE),
    (0.999, TRUE),
    (0.499, FALSE),
    (1.0, FALSE),
    (1, FALSE),
    (STALE, UNKNOWN),
    # Neither is a number, though Python would compare the second.
    ("0.7", UNKNOWN),
    (True, UNKNOWN),
]


@pytest.mark.parametrize(("value", "truth"), NUMBER_CELLS)
def test_a_number_lies_between_stated_ends(value: FactValue, truth: Truth) -> None:
    """An end counts as inside where it is included, and what is no number is not known."""
    assert HALF.test({"progress": value}) is truth


@pytest.mark.parametrize(
    ("wanted", "value", "truth"),
    [
        (True, True, TRUE),
        (True, False, FALSE),
        (False, True, FALSE),
        (False, False, TRUE),
    ],
)
def test_not_hearing_is_itself_known(*, wanted: bool, value: bool, truth: Truth) -> None:
    """``stale`` is true or false, never unknown."""
    assert TruthIs("stale", wanted).test({"stale": value}) is truth


EMPTY_WARNING = Reason("material-empty", Severity.WARNING, "material-empty-warning")
EMPTY_ERROR = Reason("material-empty", Severity.ERROR, "material-empty-error")
DOOR_REPORT = Reason("door-open", Severity.REPORT, "door-open-report")
HEATING = Reason("extruder-heating", Severity.NEUTRAL, "extruder-heating")


def having(*known: Reason) -> Reasons:
    """These reasons and no others."""
    return Reasons(known)


def perhaps_more(*known: Reason) -> Reasons:
    """These reasons, and others are possible."""
    return Reasons(known, STALE)


EMPTY, DOOR = Keyword("material-empty"), Keyword("door-open")
ANY = ReasonsHave("any", (EMPTY, DOOR))
ALL = ReasonsHave("all", (EMPTY, DOOR))
NONE = ReasonsHave("none", (EMPTY, DOOR))
ONLY_ERROR = ReasonsHave("any", (Keyword("material-empty", Severity.ERROR),))
NOT_THE_ERROR = ReasonsHave("none", (Keyword("material-empty", Severity.ERROR),))
WARNED = SeverityAtLeast(Severity.WARNING)

REASON_CELLS = [
    (ANY, having(EMPTY_ERROR), TRUE),
    (ANY, perhaps_more(EMPTY_ERROR), TRUE),
    (ANY, having(HEATING), FALSE),
    (ANY, having(), FALSE),
    (ANY, perhaps_more(HEATING), UNKNOWN),
    (ANY, perhaps_more(), UNKNOWN),
    (ANY, STALE, UNKNOWN),
    (ALL, having(DOOR_REPORT, EMPTY_WARNING), TRUE),
    (ALL, perhaps_more(DOOR_REPORT, EMPTY_WARNING), TRUE),
    (ALL, having(EMPTY_WARNING), FALSE),
    (ALL, having(), FALSE),
    (ALL, perhaps_more(EMPTY_WARNING), UNKNOWN),
    (ALL, perhaps_more(), UNKNOWN),
    (ALL, STALE, UNKNOWN),
    (NONE, having(EMPTY_WARNING), FALSE),
    (NONE, perhaps_more(EMPTY_WARNING), FALSE),
    (NONE, having(HEATING), TRUE),
    (NONE, having(), TRUE),
    (NONE, perhaps_more(HEATING), UNKNOWN),
    (NONE, perhaps_more(), UNKNOWN),
    (NONE, STALE, UNKNOWN),
    # With a suffix only that severity, without one every severity.
    (ONLY_ERROR, having(EMPTY_ERROR), TRUE),
    (ONLY_ERROR, having(EMPTY_WARNING), FALSE),
    (ONLY_ERROR, having(EMPTY_WARNING, EMPTY_ERROR), TRUE),
    (ONLY_ERROR, perhaps_more(EMPTY_WARNING), UNKNOWN),
    (NOT_THE_ERROR, having(EMPTY_WARNING), TRUE),
    (WARNED, having(EMPTY_WARNING), TRUE),
    (WARNED, perhaps_more(EMPTY_ERROR), TRUE),
    (WARNED, having(DOOR_REPORT, HEATING), FALSE),
    (WARNED, having(), FALSE),
    (WARNED, perhaps_more(DOOR_REPORT), UNKNOWN),
    (WARNED, STALE, UNKNOWN),
]


@pytest.mark.parametrize(("condition", "value", "truth"), REASON_CELLS)
def test_reasons_are_judged_by_what_is_known_first(
    condition: Condition, value: FactValue, truth: Truth
) -> None:
    """What is known settles it where it can; only where it cannot do possible others count."""
    assert condition.test({"reasons": value}) is truth


EVERY_CONDITION: list[Condition] = [
    SYMBOL,
    NOT_SYMBOL,
    HALF,
    TruthIs("stale", wanted=True),
    ANY,
    ALL,
    NONE,
    WARNED,
]


@pytest.mark.parametrize("condition", EVERY_CONDITION, ids=str)
def test_a_fact_that_is_not_there_is_unknown(condition: Condition) -> None:
    """A name that no reader gives reads as not offered."""
    assert condition.test({}) is UNKNOWN


reasons = st.builds(
    Reason,
    st.sampled_from(["material-empty", "door-open", "extruder-jam"]),
    st.sampled_from(Severity),
    st.just("as said"),
)
conditions = st.one_of(
    st.builds(
        ReasonsHave,
        st.sampled_from(["any", "all", "none"]),
        st.lists(
            st.builds(
                Keyword,
                st.sampled_from(["material-empty", "door-open"]),
                st.none() | st.sampled_from(Severity),
            ),
            min_size=1,
            max_size=2,
        ).map(tuple),
    ),
    st.builds(SeverityAtLeast, st.sampled_from(Severity)),
)


@given(conditions, st.lists(reasons, max_size=3), st.lists(reasons, max_size=3))
def test_learning_more_reasons_never_overturns_a_known_answer(
    condition: Condition, known: list[Reason], more: list[Reason]
) -> None:
    """An answer from incomplete reasons holds whatever the missing ones turn out to be."""
    early = condition.test({"reasons": Reasons(tuple(known), STALE)})
    late = condition.test({"reasons": Reasons((*known, *more))})
    assert early in (UNKNOWN, late)
    assert late is not UNKNOWN


WORDS: list[tuple[Condition, str]] = [
    (SYMBOL, "state is processing"),
    (SymbolIs("state", frozenset({"stopped", "idle"}), unknown=True, negated=True),
     "state is not idle or stopped or unknown"),
    (HALF, "progress from 0.5 below 1"),
    (TruthIs("stale", wanted=True), "stale is true"),
    (ReasonsHave("none", (Keyword("door-open"), Keyword("material-empty", Severity.ERROR))),
     "reasons have none of door-open, material-empty-error"),
    (WARNED, "reasons have one that is warning or worse"),
]  # fmt: skip


@pytest.mark.parametrize(("condition", "words"), WORDS)
def test_a_condition_reads_as_words(condition: Condition, words: str) -> None:
    """Log, page and explain print it the same; the words of a set are in one order."""
    assert str(condition) == words


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (True, "true"),
        (0.41, "0.41"),
        (212.0, "212"),
        (3, "3"),
        ("idle", "idle"),
        (having(), "none"),
        (having(EMPTY_ERROR), "material-empty-error"),
        (STALE, "unknown (not heard for too long: page)"),
    ],
)
def test_a_fact_reads_as_words(value: FactValue, words: str) -> None:
    """A number without needless digits, an unknown with its reason."""
    assert shown(value) == words


def test_a_condition_looks_at_its_own_fact_only() -> None:
    """Other facts neither help nor hinder."""
    facts: Facts = {"state": STALE, "job": "processing", "reasons": having(EMPTY_ERROR)}
    assert SYMBOL.test(facts) is UNKNOWN


@pytest.mark.parametrize(
    ("interval", "inside", "outside"),
    [
        (Interval(), [-1e300, 0.0, 1e300], []),
        (Interval(1.0, 2.0), [1.0, 2.0], [0.999, 2.0001]),
        (Interval(1.0, 2.0, least_included=False), [1.0000001, 2.0], [1.0]),
        (Interval(1.0, 2.0, most_included=False), [1.0, 1.9999999], [2.0]),
        (Interval(2.0, 2.0), [2.0], [1.999, 2.001]),
    ],
)
def test_a_span_holds_what_its_interval_holds(
    interval: Interval, inside: list[float], outside: list[float]
) -> None:
    """Half-open at the next number there is, so that an end keeps its side."""
    begin, end = span(interval)
    assert all(begin <= value < end and interval.holds(value) for value in inside)
    assert not any(begin <= value < end or interval.holds(value) for value in outside)


NIGHT = TimeOfDay(22 * 3600.0, 6 * 3600.0, "from 22:00 before 06:00")
NOON = TimeOfDay(12 * 3600.0, 13 * 3600.0, "from 12:00 before 13:00")
ALL_DAY = TimeOfDay(0.0, 0.0, "from 00:00 before 00:00")


@pytest.mark.parametrize(
    ("condition", "hour", "truth"),
    [
        (NIGHT, 21.99, FALSE),
        (NIGHT, 22.0, TRUE),
        (NIGHT, 0.0, TRUE),
        (NIGHT, 5.99, TRUE),
        (NIGHT, 6.0, FALSE),
        (NOON, 12.0, TRUE),
        (NOON, 13.0, FALSE),
        (ALL_DAY, 0.0, TRUE),
        (ALL_DAY, 23.99, TRUE),
    ],
)
def test_a_time_of_day_goes_on_over_midnight(
    condition: TimeOfDay, hour: float, truth: Truth
) -> None:
    """From its first second on, before the other; no later end means the day after."""
    assert condition.test({"local-time": hour * 3600}) is truth


def test_a_time_of_day_is_unknown_while_the_clock_is() -> None:
    """Nobody can say whether it is night."""
    assert NIGHT.test({"local-time": Unknown(Why.NO_CLOCK)}) is UNKNOWN
    assert NIGHT.test({}) is UNKNOWN


@pytest.mark.parametrize(
    ("states", "truth"),
    [
        ((), Truth.TRUE),
        (("idle",), Truth.TRUE),
        (("idle", "stopped"), Truth.FALSE),
    ],
)
def test_all_of_several_must_hold(states: tuple[str, ...], truth: Truth) -> None:
    """False as soon as one is, also beside one that is not known; of none at all, they do."""
    conditions = [SymbolIs("state", frozenset({state})) for state in states]
    unsure = SymbolIs("job", frozenset({"completed"}))
    facts: Facts = {"state": "idle", "job": Unknown(Why.NOT_HEARD)}
    assert all_hold(conditions, facts) is truth
    beside = all_hold([unsure, *conditions], facts)
    assert beside is (Truth.FALSE if truth is Truth.FALSE else Truth.UNKNOWN)
