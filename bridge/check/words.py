"""Situations in the words in which an ``expect`` case would give them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final

from bridge.facts.values import FactValue, Reasons, Unknown
from bridge.facts.vocabulary import UNKNOWN_WORD, fact_named
from bridge.rules.alarm_states import State
from bridge.rules.conditions import LOCAL_TIME, shown
from bridge.rules.fact_words import duration_words, time_words
from bridge.rules.table import ALARM_PREFIX, LASTING_PREFIX, PROMPT_PREFIX

#: Facts that a case gives under another name.
_COLUMNS: Final = {"time-in-state": "in_state", "time-unchanged": "unchanged_for"}
_PLAIN: Final = re.compile(r"[^\W_][\w -]*")
#: What need not be given.
_UNSAID: Final = (("link", "up"), ("stale", False))


def given_words(facts: Mapping[str, FactValue]) -> str:
    """A situation as an ``expect`` case would give it, without what need not be given."""
    plain = {name: value for name, value in facts.items() if " " not in name}
    given = [f"{_column(name)}: {_word(name, v)}" for name, v in plain.items() if _says(name, v)]
    for key, prefix in (("alarms", ALARM_PREFIX), ("prompts", PROMPT_PREFIX)):
        if states := list(_states(facts, prefix)):
            given.append(f"{key}: {{{', '.join(states)}}}")
    if lasted := [_lasted(name) for name, v in facts.items() if _is_lasted(name, v)]:
        given.append(f"lasting: [{', '.join(lasted)}]")
    return f"{{{', '.join(given)}}}"


def _column(name: str) -> str:
    return "local_time" if name == LOCAL_TIME else _COLUMNS.get(name, name)


def _states(facts: Mapping[str, FactValue], prefix: str) -> Iterable[str]:
    for name, value in facts.items():
        if name.startswith(prefix) and value != State.NORMAL.value:
            yield f"{name.removeprefix(prefix)}: {_word(name, value)}"


def _is_lasted(name: str, value: FactValue) -> bool:
    return name.startswith(LASTING_PREFIX) and value is True


def _lasted(name: str) -> str:
    rule = name.removeprefix(LASTING_PREFIX).partition("/")[2]
    return rule if _PLAIN.fullmatch(rule) else f'"{rule}"'


def _says(name: str, value: FactValue) -> bool:
    if isinstance(value, Reasons):
        return bool(value.known) or not value.complete
    return (name, value) not in _UNSAID


def _word(name: str, value: FactValue) -> str:
    if isinstance(value, Unknown):
        return UNKNOWN_WORD
    if isinstance(value, Reasons):
        if not value.known:
            return UNKNOWN_WORD
        known = f"[{', '.join(reason.said for reason in value.known)}]"
        return known if value.complete else f"{known} and perhaps more"
    if name == LOCAL_TIME and isinstance(value, float):
        return f'"{time_words(value)}"'
    fact = fact_named(name)
    unit = fact.unit if fact else ""
    if not unit or isinstance(value, bool | str):
        return shown(value)
    return duration_words(value) if unit == "s" else f"{shown(value)} {unit}"
