"""The ``expect`` cases of a table: what is given, and the cases that cannot be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bridge.facts.values import FactValue, Reasons, Unknown, Why
from bridge.facts.vocabulary import BRIDGE_PREFIX, FACTS, SITE_PREFIX, UNKNOWN_WORD
from bridge.rules.alarm_states import ALARM_SYMBOLS, symbols_of
from bridge.rules.prompt_states import PROMPT_SYMBOLS
from bridge.rules.table import ALARM_PREFIX, PROMPT_PREFIX, Expect, lasting_for
from bridge.settings.conditions import given_value
from bridge.settings.names import Names
from bridge.settings.nearest import meant, shown
from bridge.settings.quantities import DURATION
from bridge.settings.rules_file import COLUMN_FACTS, Case, RulesFile
from bridge.settings.rules_file import Table as TableKeys
from bridge.settings.shapes import whole, whole_items
from bridge.settings.spot import Spot

_LINK: Final = "link"
_DOWN: Final = "down"


@dataclass(frozen=True, slots=True)
class CaseMaker:
    """Makes the cases of one table."""

    table: str
    keys: TableKeys
    rules: RulesFile
    alarms: Names
    prompts: Names

    def make(self, spot: Spot) -> tuple[Expect, ...]:
        """Every case; problems go to ``spot``."""
        cases = []
        first: dict[tuple[tuple[str, str], ...], tuple[str, int]] = {}
        for index, case in whole_items(self.keys.expect):
            at = spot.at(index)
            given = self._given(case, at.at("given"))
            cases.append(Expect(given, case.shows, at.source))
            same = tuple(sorted((name, str(value)) for name, value in given.items()))
            shows, line = first.setdefault(same, (case.shows, at.source.line))
            if shows != case.shows:
                at.at("shows").wrong(
                    f"is {shown(case.shows)}, and {shown(shows)} for the same situation "
                    f"in line {line}"
                )
        return tuple(cases)

    def _given(self, case: Case, spot: Spot) -> dict[str, FactValue]:
        given: dict[str, FactValue] = {}
        for name, value in case.given.items():
            at = spot.at(name)
            match name:
                case "alarms":
                    given.update(self._alarms(value, at))
                case "prompts":
                    given.update(self._prompts(value, at))
                case "lasting":
                    given.update(self._lasting(value, at))
                case _:
                    fact = given_value(name, value, at)
                    if fact is not None:
                        given[COLUMN_FACTS.get(name, name)] = fact
        _refuse_known_without_link(given, spot)
        return given

    def _alarms(self, value: object, spot: Spot) -> dict[str, FactValue]:
        sequences = {name: alarm.sequence for name, alarm in whole(self.rules.alarms)}
        given: dict[str, FactValue] = {}
        for name, word in _named(value, "{NAME: acknowledged}", spot).items():
            at = spot.at(name)
            sequence = sequences.get(name)
            if not self.alarms.has_key(at, name) or sequence is None:
                continue
            if word in ALARM_SYMBOLS and word not in symbols_of(sequence):
                at.wrong(f"is {shown(word)}, which an alarm of sequence {sequence} never is")
            else:
                given |= _state(f"{ALARM_PREFIX}{name}", word, symbols_of(sequence), at)
        return given

    def _prompts(self, value: object, spot: Spot) -> dict[str, FactValue]:
        given: dict[str, FactValue] = {}
        for name, word in _named(value, "{NAME: waiting}", spot).items():
            at = spot.at(name)
            if self.prompts.has_key(at, name):
                given |= _state(f"{PROMPT_PREFIX}{name}", word, PROMPT_SYMBOLS, at)
        return given

    def _lasting(self, value: object, spot: Spot) -> dict[str, FactValue]:
        """The rules that have lasted long enough."""
        if not isinstance(value, list):
            spot.wrong(f"is {shown(value)}, expected a list of rules")
            return {}
        times = {rule.name: rule.lasting for _, rule in whole_items(self.keys.rules)}
        rules = Names("rule", f"table {self.table}", frozenset(times))
        given: dict[str, FactValue] = {}
        for index, name in enumerate(value):
            at = spot.at(index)
            if not rules.has(at, name):
                continue
            if (text := times[name]) is None:
                at.wrong(f"the rule {shown(name)} has no lasting")
                continue
            fact = lasting_for(self.table, name, DURATION.whole(text), text).fact
            given[fact] = True
        return given


def _named(value: object, example: str, spot: Spot) -> Mapping[str, str]:
    if isinstance(value, Mapping):
        return value
    spot.wrong(f"is {shown(value)}, expected for example {example}")
    return {}


def _state(fact: str, word: str, symbols: tuple[str, ...], spot: Spot) -> dict[str, FactValue]:
    """The word as the fact's value; no fact, and a problem, where it is none."""
    if word == UNKNOWN_WORD:
        return {fact: Unknown(Why.UNJUDGED)}
    if word in symbols:
        return {fact: word}
    spot.wrong(f"is {shown(word)}, which is no state of it{meant(word, symbols)}")
    return {}


def _refuse_known_without_link(given: Mapping[str, FactValue], spot: Spot) -> None:
    """Nothing is known of a printer whose link is down, but what the bridge found itself."""
    if given.get(_LINK) != _DOWN:
        return
    for name, value in given.items():
        is_read = name in FACTS or name.startswith(SITE_PREFIX)
        if name == _LINK or not is_read or isinstance(value, Unknown) or _is_own(value):
            continue
        spot.at(name).wrong("cannot be known while link is down, expected unknown")


def _is_own(value: FactValue) -> bool:
    return isinstance(value, Reasons) and all(
        reason.keyword.startswith(BRIDGE_PREFIX) for reason in value.known
    )
