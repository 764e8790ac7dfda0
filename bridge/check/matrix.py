"""The table that a person would draw: states down, reasons and freshness across, scenes in it.

Every cell is decided by the matcher that the daemon uses, in the situation of an ``expect`` case.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from bridge.check.expects import situation
from bridge.check.words import given_words
from bridge.engine.site import Site
from bridge.facts.reasons import parse_reason
from bridge.facts.values import FactValue, Reasons, Severity, Unknown, Why
from bridge.facts.vocabulary import STATES, UNKNOWN_WORD
from bridge.rules.alarm import Alarm
from bridge.rules.alarm_states import State
from bridge.rules.analysis.axes import axis_of
from bridge.rules.analysis.offers import LASTED, any_offer, other_keyword
from bridge.rules.conditions import Condition, ReasonsHave, SeverityAtLeast
from bridge.rules.decision import decide
from bridge.rules.table import ALARM_PREFIX, LASTING_PREFIX, Expect, Row, Table

_GONE: Final = Unknown(Why.LINK_NOT_UP)
_RAISED: Final = "raised"
#: Facts that have columns, or states as rows, of their own.
_PLACED: Final = frozenset({"state", "reasons", "link", "stale"})


@dataclass(frozen=True, slots=True)
class Matrix:
    """``rows`` are a situation in words and the scene of each column; columns alike are one."""

    table: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


def matrix_of(site: Site, table: Table) -> Matrix:
    """A row for each state, and for each other fact that makes a difference to it."""
    alarms = [each for each in site.alarms.values() if _is_named(table, each)]
    columns = dict(_columns(table, alarms))
    rows: list[tuple[str, tuple[str, ...]]] = []
    for state in (*STATES, UNKNOWN_WORD):
        facts: dict[str, FactValue] = {"state": _GONE if state == UNKNOWN_WORD else state}
        plain = _cells(table, alarms, facts, columns.values())
        rows.append((state, plain))
        for more in _more(table):
            cells = _cells(table, alarms, facts | more, columns.values())
            if cells != plain:
                rows.append((f"{state}, {given_words(more)[1:-1]}", cells))
    return _merged(table.name, tuple(columns), rows)


def _is_named(table: Table, alarm: Alarm) -> bool:
    return any(row.alarm == alarm.name for row in table.rows)


def _columns(
    table: Table, alarms: Iterable[Alarm]
) -> Iterator[tuple[str, Mapping[str, FactValue]]]:
    """What stands across: nothing wrong, each reason that is told apart, alarms, silence."""
    yield "nothing wrong", {}
    for reason in _reasons(
        [*_conditions(table), *(each for alarm in alarms for each in alarm.when)]
    ):
        yield reason, {"reasons": Reasons((parse_reason(reason),))}
    for alarm in alarms:
        fact = f"{ALARM_PREFIX}{alarm.name}"
        for state in (State.UNACKNOWLEDGED, State.ACKNOWLEDGED):
            yield f"{alarm.name} {state.value}", {fact: state.value}
    yield "stale", {"stale": True}
    yield "link down", {"link": "down", "stale": True, "state": _GONE, "reasons": _GONE}


def _conditions(table: Table) -> list[Condition]:
    return [condition for row in table.rows for condition in row.tested]


def _reasons(conditions: Iterable[Condition]) -> list[str]:
    """Each keyword that is named, and any other one of each severity that is asked for."""
    words: dict[str, None] = {}
    severities: set[Severity] = set()
    named: set[str] = set()
    for condition in conditions:
        if isinstance(condition, ReasonsHave):
            named.update(each.keyword for each in condition.keywords)
            words.update(dict.fromkeys(map(str, condition.keywords)))
        elif isinstance(condition, SeverityAtLeast):
            severities.add(condition.severity)
    other = other_keyword(named)
    grave = sorted(severities, key=lambda each: each.value)
    return [*words, *(f"{other}-{each.name.lower()}" for each in grave)]


def _more(table: Table) -> Iterator[dict[str, FactValue]]:
    """Each value that some row tells from others, of every fact that has no place of its own."""
    tested: dict[str, list[Condition]] = {}
    for condition in _conditions(table):
        if condition.fact not in _PLACED and not condition.fact.startswith(ALARM_PREFIX):
            tested.setdefault(condition.fact, []).append(condition)
    for fact, conditions in tested.items():
        values = LASTED if fact.startswith(LASTING_PREFIX) else any_offer([fact]).values[fact]
        for value in axis_of(fact, values, conditions).values:
            if not isinstance(value, Unknown):
                yield {fact: value}


def _cells(
    table: Table,
    alarms: Iterable[Alarm],
    facts: Mapping[str, FactValue],
    columns: Iterable[Mapping[str, FactValue]],
) -> tuple[str, ...]:
    plain = _situation(table, facts)
    new = [each for each in alarms if not _is_raised(each, plain)]
    return tuple(_shown(table, new, {**facts, **column}) for column in columns)


def _shown(table: Table, alarms: Iterable[Alarm], given: Mapping[str, FactValue]) -> str:
    """The scene, with the alarms raised that the column raises: others have columns of their own.

    A row alone raises none: what is no trouble for a moment may be one after an on-delay.
    """
    facts = _situation(table, given)
    for alarm in alarms:
        fact = f"{ALARM_PREFIX}{alarm.name}"
        if fact not in given and _is_raised(alarm, facts):
            facts[fact] = State.UNACKNOWLEDGED.value
    return decide(table, facts, frozenset(facts)).row.show


def _situation(table: Table, given: Mapping[str, FactValue]) -> dict[str, FactValue]:
    return dict(situation(table, Expect(given, "", table.otherwise.source)))


def _is_raised(alarm: Alarm, facts: Mapping[str, FactValue]) -> bool:
    """Asked of the matcher, as of a table with one row."""
    otherwise = Row("otherwise", (), "", "unknown", alarm.source)
    row = Row(_RAISED, alarm.when, "", "act", alarm.source)
    one = Table(alarm.name, (row,), otherwise)
    return decide(one, facts, frozenset(facts)).row is row


def _merged(table: str, names: tuple[str, ...], rows: list[tuple[str, tuple[str, ...]]]) -> Matrix:
    """Columns that are alike in every row, as one."""
    alike: dict[tuple[str, ...], list[int]] = {}
    for number in range(len(names)):
        alike.setdefault(tuple(cells[number] for _, cells in rows), []).append(number)
    groups = list(alike.values())
    return Matrix(
        table,
        tuple(", ".join(names[each] for each in group) for group in groups),
        tuple((label, tuple(cells[group[0]] for group in groups)) for label, cells in rows),
    )
