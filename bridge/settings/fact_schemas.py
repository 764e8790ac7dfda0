"""JSON Schema of mappings whose keys are facts: editors offer the facts and their words."""

from __future__ import annotations

from typing import Any, Final

from bridge.facts.vocabulary import FACTS, REMEMBERED, UNKNOWN_WORD, FactName, Kind
from bridge.rules.alarm_states import ALARM_SYMBOLS
from bridge.rules.prompt_states import PROMPT_SYMBOLS
from bridge.settings.conditions import quantity_of
from bridge.settings.nearest import listed
from bridge.settings.rules_file import (
    ALARM,
    ALARMS,
    LASTING,
    PROMPT,
    PROMPTS,
    SITE_FACT_PATTERN,
)
from bridge.settings.shapes import NAME_PATTERN
from bridge.settings.times_of_day import TIME_OF_DAY_PATTERN

_REASON_LIST: Final = {"type": "array", "items": {"type": "string", "minLength": 1}, "minItems": 1}
_WORD: Final = {"type": "string"}
_TRUTH: Final = {"type": "boolean", "description": "Whether a required message is not fresh."}
_ENDS: Final = {
    "above": "The number is above this one.",
    "at_least": "The number is this one or above.",
    "below": "The number is below this one.",
    "at_most": "The number is this one or below.",
}


#: Facts of the bridge's own memory, by their columns.
_REMEMBERED: Final = {
    "last-job": REMEMBERED["last-job"],
    "in_state": REMEMBERED["time-in-state"],
    "unchanged_for": REMEMBERED["time-unchanged"],
}
_ABOUT: Final = {
    "last-job": "How the last job ended.",
    "in_state": "How long the printer has been in its state.",
    "unchanged_for": "How long its progress has not moved.",
    "local_time": "The time of the day in the site's zone; from may be later than before.",
}
_NAME: Final = {"type": "string", "pattern": NAME_PATTERN}
_TIME_OF_DAY: Final = {"type": "string", "pattern": TIME_OF_DAY_PATTERN}
_LOCAL_TIME: Final = {
    "description": _ABOUT["local_time"],
    "type": "object",
    "properties": {
        "from": {**_TIME_OF_DAY, "description": "This time or later."},
        "before": {**_TIME_OF_DAY, "description": "Before this time."},
    },
    "minProperties": 1,
    "additionalProperties": False,
}


def raised_schema() -> dict[str, Any]:
    """What raises an alarm or a prompt, and ends a prompt."""
    columns: dict[str, Any] = {name: _test(fact) for name, fact in FACTS.items()}
    for name, fact in _REMEMBERED.items():
        columns[name] = {**_test(fact), "description": _ABOUT[name]}
    columns["local_time"] = _LOCAL_TIME
    schema = {**_keyed({**columns, "stale": _TRUTH}, _own_test()), "minProperties": 1}
    return {"description": "Facts and what each must be.", **schema}


def when_schema() -> dict[str, Any]:
    """The columns of a rule."""
    schema = raised_schema()
    named = {
        ALARM: {**_NAME, "description": "The alarm of this name stands."},
        PROMPT: {**_NAME, "description": "The prompt of this name waits."},
    }
    return {**schema, "properties": {**schema["properties"], **named}}


def given_schema() -> dict[str, Any]:
    """What an ``expect`` case gives."""
    columns: dict[str, Any] = {name: _given(fact) for name, fact in FACTS.items()}
    for name, fact in _REMEMBERED.items():
        columns[name] = {**_given(fact), "description": _ABOUT[name]}
    columns["local_time"] = {
        "description": "The time of the day.",
        "anyOf": [_TIME_OF_DAY, {"const": UNKNOWN_WORD}],
    }
    columns[ALARMS] = _states("How each of these alarms stands.", ALARM_SYMBOLS)
    columns[PROMPTS] = _states("How each of these prompts stands.", PROMPT_SYMBOLS)
    columns[LASTING] = {
        "description": "The rules that have lasted long enough.",
        "type": "array",
        "items": {"type": "string", "minLength": 1},
    }
    return _keyed({**columns, "stale": _TRUTH}, {"type": ["string", "number", "boolean"]})


def _states(description: str, symbols: tuple[str, ...]) -> dict[str, Any]:
    state = {"enum": [*symbols, UNKNOWN_WORD]}
    return {
        "description": description,
        "type": "object",
        "patternProperties": {NAME_PATTERN: state},
        "additionalProperties": False,
    }


def facts_schema(ways: dict[str, Any]) -> dict[str, Any]:
    """The facts of a reader; ``ways`` is the schema of how each is found."""
    columns = {name: {**ways, "description": about(fact)} for name, fact in FACTS.items()}
    return _keyed(columns, ways)


def about(fact: FactName) -> str:
    """What the fact is, in a sentence."""
    match fact.kind:
        case Kind.SYMBOL:
            return f"{listed(fact.symbols)}; or unknown."
        case Kind.REASONS:
            return "What keeps the printer from working well: registered keywords, or site-…."
        case Kind.TEXT:
            return "A text."
        case _ if fact.unit:
            return f"A number in {fact.unit}."
        case _:
            return "A share, 0 to 1." if fact.most == 1.0 else "A number."


def _keyed(columns: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": columns,
        "patternProperties": {SITE_FACT_PATTERN: own},
        "additionalProperties": False,
    }


def _test(fact: FactName) -> dict[str, Any]:
    if fact.kind is Kind.REASONS:
        return {"description": about(fact), **_reasons_test()}
    if fact.kind is Kind.NUMBER:
        word: dict[str, Any] = {"const": UNKNOWN_WORD}
        return {"description": about(fact), "anyOf": [*_words_test(word), _interval(_number(fact))]}
    return {"description": about(fact), "anyOf": _words_test(_word(fact))}


def _own_test() -> dict[str, Any]:
    return {"anyOf": [*_words_test(_WORD), _interval({"type": "number"})]}


def _words_test(word: dict[str, Any]) -> list[dict[str, Any]]:
    words = {"type": "array", "items": word, "minItems": 1}
    negated = {
        "type": "object",
        "properties": {"not": {"anyOf": [word, words], "description": "It is none of these."}},
        "required": ["not"],
        "additionalProperties": False,
    }
    return [word, words, negated]


def _word(fact: FactName) -> dict[str, Any]:
    return {"enum": [*fact.symbols, UNKNOWN_WORD]} if fact.symbols else _WORD


def _number(fact: FactName) -> dict[str, Any]:
    quantity = quantity_of(fact)
    bare: dict[str, Any] = {"type": "number"}
    if quantity is None:
        return bare
    written = {"type": "string", "pattern": quantity.pattern}
    if fact.most != 1.0:
        return written
    return {"anyOf": [{**bare, "minimum": 0, "maximum": 1}, written]}


def _interval(number: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {key: {**number, "description": said} for key, said in _ENDS.items()},
        "minProperties": 1,
        "additionalProperties": False,
        "not": {"anyOf": [{"required": ["above", "at_least"]}, {"required": ["below", "at_most"]}]},
    }


def _reasons_test() -> dict[str, Any]:
    severity = {
        "type": "object",
        "properties": {
            "at_least": {
                "enum": ["report", "warning", "error"],
                "description": "The least severity that counts.",
            }
        },
        "required": ["at_least"],
        "additionalProperties": False,
    }
    tests = {
        "any": {**_REASON_LIST, "description": "One of these holds; no suffix: any severity."},
        "all": {**_REASON_LIST, "description": "All of these hold."},
        "none": {**_REASON_LIST, "description": "None of these holds."},
        "severity": {**severity, "description": "Some reason is at least this severe."},
    }
    return {
        "type": "object",
        "properties": tests,
        "minProperties": 1,
        "additionalProperties": False,
    }


def _given(fact: FactName) -> dict[str, Any]:
    unknown = {"const": UNKNOWN_WORD}
    if fact.kind is Kind.REASONS:
        listing = {"type": "array", "items": {"type": "string", "minLength": 1}}
        return {"description": about(fact), "anyOf": [listing, unknown]}
    if fact.kind is Kind.NUMBER:
        return {"description": about(fact), "anyOf": [_number(fact), unknown]}
    return {"description": about(fact), **_word(fact)}
