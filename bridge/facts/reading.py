"""One alternative of a reader, compiled once to the function that reads a document.

A read gives the fact's value, ``Unknown`` (which ends the search), or ``ABSENT`` or ``NOTHING``
(which go on to the next alternative). Freshness is not asked here: ``evaluation`` asks it first.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import Final, TypeAlias
from zoneinfo import ZoneInfo

from bridge.facts.codes import key_of, shown, table_of, written
from bridge.facts.forms import CompiledForm, compile_form
from bridge.facts.judging import JudgeDocument, Nothing, agreeing, compile_also, compile_judge
from bridge.facts.moment import Moment
from bridge.facts.numbers import compile_number
from bridge.facts.places import ABSENT, Absent, Document, Place
from bridge.facts.reader import Alternative
from bridge.facts.values import FactValue, Unknown, Why
from bridge.facts.vocabulary import SITE_PREFIX, UNKNOWN_WORD, FactName, Kind

#: The texts that the wildcards of a message's address stand for.
Wildcards: TypeAlias = tuple[str, ...]
#: Document, wildcards, the instant at which it was heard.
Read: TypeAlias = Callable[[Document, Wildcards, Moment], FactValue | Absent | Nothing]
#: A raw value, its document, the instant: the end of a read.
Finish: TypeAlias = Callable[[object, Document, Moment], FactValue | Absent]
#: Document to raw value, or to ``ABSENT`` or ``Unknown``.
Raw: TypeAlias = Callable[[Document], object]
#: The forms of one message, each with the place of its text (``None``: the whole message).
Forms: TypeAlias = Sequence[tuple[CompiledForm, Place | None]]

#: A job's name is shown in a line; nobody reads more of it.
LONGEST_TEXT: Final = 256

JOB: Final = "job"
NO_VALUE_WORD: Final = "no-value"


def compile_read(
    alternative: Alternative, fact: FactName, forms: Forms, zone: ZoneInfo, *, text: bool
) -> Read:
    """The read of an alternative that names a message; ``text``: the message is a text."""
    read = _compile_own(alternative, fact, forms, zone, text=text)
    also = compile_also(alternative.also)
    return read if also is None else _guarded(also, read)


def _guarded(also: JudgeDocument, read: Read) -> Read:
    def guarded(
        document: Document, wildcards: Wildcards, now: Moment
    ) -> FactValue | Absent | Nothing:
        verdict = also(document)
        return read(document, wildcards, now) if verdict is None else verdict

    return guarded


def _compile_own(
    alternative: Alternative, fact: FactName, forms: Forms, zone: ZoneInfo, *, text: bool
) -> Read:
    """The read without what other places have to say."""
    finish = _compile_finish(alternative, fact, zone, only_text=has_only_text(alternative, text))
    raw_of = compile_raw(alternative, forms)
    judge = compile_judge(alternative, only_text=text or alternative.part is not None)
    wildcard = alternative.wildcard
    says_no_value = fact.name == JOB
    if judge is None and wildcard is None:
        return _compile_plain(raw_of, finish)

    def read(document: Document, wildcards: Wildcards, now: Moment) -> FactValue | Absent | Nothing:
        raw = raw_of(document)
        if raw is ABSENT or type(raw) is Unknown:
            return raw
        if judge is not None and (verdict := judge(raw)) is not None:
            if says_no_value and type(verdict) is Unknown and verdict.why is Why.NO_VALUE:
                return NO_VALUE_WORD
            return verdict
        if wildcard is not None:
            raw = nth_wildcard(wildcards, wildcard)
            if raw is ABSENT:
                return ABSENT
        return finish(raw, document, now)

    return read


def _compile_plain(raw_of: Raw, finish: Finish) -> Read:
    """The commonest read, with nothing to ask first."""

    def read(document: Document, _wildcards: Wildcards, now: Moment) -> FactValue | Absent:
        raw = raw_of(document)
        if raw is ABSENT or type(raw) is Unknown:
            return raw
        return finish(raw, document, now)

    return read


def has_only_text(alternative: Alternative, text: bool) -> bool:  # noqa: FBT001 - passed through
    """Whether what the alternative looks up can only be text, and never a number."""
    return text or alternative.part is not None or alternative.wildcard is not None


def nth_wildcard(wildcards: Wildcards, number: int) -> str | Absent:
    """The text of a wildcard, counted from 1."""
    return wildcards[number - 1] if number <= len(wildcards) else ABSENT


def compile_raw(alternative: Alternative, forms: Forms) -> Raw:
    """What an alternative looks at in a document, before anything is asked of it.

    For a wildcard this is the payload, which ``unless``, ``no_value`` and ``is_`` judge.
    """
    if alternative.part is not None:
        return _compile_part(alternative.part, forms)
    if alternative.form is not None:
        return _compile_form(alternative.form, alternative.at)
    place = alternative.at
    if place is None:
        return lambda document: document
    # Where the value is given, it does not matter which of several nodes is there.
    if place.single or (alternative.gives is not None and not _asks(alternative)):
        return place.find
    return agreeing(place)


def _asks(alternative: Alternative) -> bool:
    return bool(alternative.unless or alternative.no_value or alternative.is_)


def _compile_part(part: str, forms: Forms) -> Raw:
    having = [(form, at) for form, at in forms if part in form.names]

    def raw_of(document: Document) -> object:
        for form, at in having:
            text = document if at is None else at.find(document)
            parts = form.match(text) if isinstance(text, str) else None
            if parts is not None:
                return parts[part]
        return ABSENT

    return raw_of


def _compile_form(text: str, at: Place | None) -> Raw:
    form = compile_form(text)

    def raw_of(document: Document) -> object:
        said = document if at is None else at.find(document)
        return said if isinstance(said, str) and form.match(said) is not None else ABSENT

    return raw_of


def _compile_finish(
    alternative: Alternative, fact: FactName, zone: ZoneInfo, *, only_text: bool
) -> Finish:
    if alternative.gives is not None:
        return _compile_gives(alternative.gives, fact)
    if alternative.values is not None:
        return _compile_values(alternative.values, only_text=only_text)
    if fact.kind is Kind.SYMBOL:
        return _compile_symbol(fact.symbols)
    if fact.kind is Kind.NUMBER or _reckons(alternative):
        return compile_number(alternative, fact, zone)
    return _sites_own if fact.name.startswith(SITE_PREFIX) else _text


def _compile_gives(gives: object, fact: FactName) -> Finish:
    if fact.kind is Kind.NUMBER and isinstance(gives, int):
        gives = float(gives)
    value: FactValue = gives if isinstance(gives, str | float | bool) else shown(gives)
    return lambda _raw, _document, _now: value


def _compile_values(
    values: Mapping[str | float | bool | None, str | tuple[str, ...]], *, only_text: bool
) -> Finish:
    table: dict[Hashable, str | tuple[str, ...]] = table_of(values, only_text=only_text)

    def finish(raw: object, _document: Document, _now: Moment) -> FactValue:
        word = table.get(key_of(raw))
        if word == UNKNOWN_WORD:
            return Unknown(Why.NO_VALUE, shown(raw))
        return word if isinstance(word, str) else Unknown(Why.UNMAPPED, written(raw))

    return finish


def _compile_symbol(symbols: tuple[str, ...]) -> Finish:
    def finish(raw: object, _document: Document, _now: Moment) -> FactValue:
        if isinstance(raw, str) and raw in symbols:
            return raw
        if raw == UNKNOWN_WORD:
            return Unknown(Why.NO_VALUE, UNKNOWN_WORD)
        return Unknown(Why.UNMAPPED, written(raw))

    return finish


def _reckons(alternative: Alternative) -> bool:
    """Whether a fact of the site's own is a number, by what is done with it."""
    return any(
        step is not None
        for step in (
            alternative.minus,
            alternative.of,
            alternative.unit,
            alternative.scale,
            alternative.ends_at,
            alternative.least,
            alternative.most,
        )
    )


def _text(raw: object, _document: Document, _now: Moment) -> FactValue:
    if isinstance(raw, str):
        return raw if len(raw) <= LONGEST_TEXT else raw[: LONGEST_TEXT - 1] + "…"
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        return shown(raw)
    return Unknown(Why.WRONG_TYPE, f"{shown(raw)} is no text")


def _sites_own(raw: object, document: Document, now: Moment) -> FactValue:
    if isinstance(raw, bool | float):
        return raw
    if isinstance(raw, int):
        try:
            return float(raw)
        except OverflowError:
            return Unknown(Why.OUT_OF_RANGE, shown(raw))
    return _text(raw, document, now)
