"""One alternative for the ``reasons``: what it contributes, and what it leaves open."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Final, TypeAlias

from bridge.facts.codes import key_of, shown, table_of, written
from bridge.facts.contributions import (
    MOST_WORDS,
    NO_CONTRIBUTION,
    Contribution,
    ReadReasons,
    for_each,
    graded,
    graded_in_every_way,
    guarded,
    in_containers,
    joined,
    none_if_absent,
    open_for,
)
from bridge.facts.judging import NOTHING, Judge, Nothing, bits_in, compile_also, compile_judge
from bridge.facts.places import ABSENT, Absent, Document, Place
from bridge.facts.reader import Alternative
from bridge.facts.reading import Forms, Raw, Wildcards, compile_raw, has_only_text, nth_wildcard
from bridge.facts.reasons import NONE, ReasonError, parse_reason
from bridge.facts.values import Reason, Unknown, Why
from bridge.facts.vocabulary import UNKNOWN_WORD

_REMEMBERED: Final = 64
_REMEMBERED_LENGTH: Final = 80

#: One word, code or number to what it contributes.
_ToReasons: TypeAlias = Callable[[object], Contribution]


def compile_reasons(
    alternative: Alternative,
    forms: Forms,
    *,
    text: bool,
    absent_none: bool = False,
    ordered: bool = False,
) -> ReadReasons:
    """The read of an alternative for the reasons; ``text``: the message is a text.

    ``absent_none``: what is absent gives no reason. ``ordered``: it is no part of a union.
    """
    read = _compile_either(alternative, forms, text=text, absent_none=absent_none, ordered=ordered)
    place = alternative.at if alternative.each is None else alternative.each
    if absent_none and place is not None and place.text:
        return in_containers(read)
    return read


def _compile_either(
    alternative: Alternative, forms: Forms, *, text: bool, absent_none: bool, ordered: bool
) -> ReadReasons:
    if alternative.each is not None:
        in_each = replace(alternative, each=None, absent_none=False)
        read = for_each(alternative.each, compile_reasons(in_each, forms, text=text))
        return none_if_absent(read) if alternative.absent_none else read
    if alternative.flags:
        read = _compile_flags(alternative, absent_none=absent_none)
    else:
        read = _compile_words(alternative, forms, text=text)
    if alternative.severity is not None:
        read = graded(alternative.severity, read)
    if alternative.absent_none:
        read = none_if_absent(read)
    also = compile_also(alternative.also)
    return read if also is None else guarded(also, read, ordered=ordered)


def _compile_flags(alternative: Alternative, *, absent_none: bool) -> ReadReasons:
    """The names of an object's true members; one that is listed must be there."""
    place = alternative.at
    to_reasons = _compile_to_reasons(alternative, only_text=True)
    listed = tuple(str(name) for name in alternative.values or ())
    others_none = alternative.others_none

    def read(document: Document, _wildcards: Wildcards) -> Contribution | Absent:
        members: object = document if place is None else place.find(document)
        if members is ABSENT:
            return ABSENT
        if not isinstance(members, dict):
            return open_for(Why.WRONG_TYPE, f"{shown(members)} has no members")
        if len(members) > MOST_WORDS:
            return open_for(Why.OUT_OF_RANGE, f"{len(members)} members")
        parts = [to_reasons(name) for name, value in members.items() if value is True]
        parts += [
            open_for(Why.WRONG_TYPE, f"{name} is {shown(value)}")
            for name, value in members.items()
            if not isinstance(value, bool) and not (others_none and name not in listed)
        ]
        if not absent_none:
            parts += [open_for(Why.ABSENT, name) for name in listed if name not in members]
        return joined(parts)

    return read


def _compile_words(alternative: Alternative, forms: Forms, *, text: bool) -> ReadReasons:
    """Words, codes or numbers with bits: the common ways."""
    raws_of = _compile_raws(alternative, forms)
    judge = compile_judge(alternative, only_text=text or alternative.part is not None)
    to_reasons = _compile_to_reasons(
        alternative, only_text=has_only_text(alternative, text) or alternative.split is not None
    )
    split, wildcard = alternative.split, alternative.wildcard

    def read(document: Document, wildcards: Wildcards) -> Contribution | Nothing | Absent:
        raws = raws_of(document)
        if raws is ABSENT:
            return ABSENT
        if wildcard is not None:
            return _of_wildcard(raws, judge, nth_wildcard(wildcards, wildcard), to_reasons)
        words = raws if split is None else tuple(_split(raws, split))
        return _contribution(words, judge, to_reasons)

    place = alternative.at
    if wildcard is not None or alternative.part is not None or place is None or not place.single:
        return read
    return _remembering(place, read)


def _remembering(place: Place, read: ReadReasons) -> ReadReasons:
    """The same read, which knows again the words and codes of the last messages."""
    find = place.find
    remembered: dict[object, Contribution | Nothing | Absent] = {}

    def read_again(document: Document, wildcards: Wildcards) -> Contribution | Nothing | Absent:
        raw = find(document)
        # Not a truth or a float, which Python would take for the integer that they equal.
        if type(raw) is not int and (type(raw) is not str or len(raw) > _REMEMBERED_LENGTH):
            return read(document, wildcards)
        found = remembered.get(raw)
        if found is None:
            if len(remembered) >= _REMEMBERED:
                remembered.clear()
            found = remembered[raw] = read(document, wildcards)
        return found

    return read_again


def _compile_raws(
    alternative: Alternative, forms: Forms
) -> Callable[[Document], tuple[object, ...] | Absent]:
    """Every raw value at an alternative's place: a list counts by its elements."""
    place = alternative.at
    if alternative.part is None and place is not None and not place.single:
        find_all = place.find_all

        def several(document: Document) -> tuple[object, ...] | Absent:
            found = find_all(document)
            if not found:
                return ABSENT
            return tuple(raw for value in found for raw in _elements(value))

        return several
    raw_of: Raw = compile_raw(alternative, forms)

    def one(document: Document) -> tuple[object, ...] | Absent:
        raw = raw_of(document)
        return ABSENT if raw is ABSENT else _elements(raw)

    return one


def _elements(value: object) -> tuple[object, ...]:
    return tuple(value) if isinstance(value, list) else (value,)


def _split(raws: Iterable[object], separator: str) -> Iterator[object]:
    for raw in raws:
        if not isinstance(raw, str):
            yield raw
            continue
        words = raw.split(separator) if separator.strip() else raw.split()
        # An empty text has no words: no reason. One between two separators is a slip of the pen.
        yield from (word.strip() for word in words if word.strip())


def _of_wildcard(
    raws: tuple[object, ...], judge: Judge | None, word: str | Absent, to_reasons: _ToReasons
) -> Contribution | Nothing | Absent:
    """The payload is judged, the wildcard's text is read."""
    if word is ABSENT:
        return ABSENT
    if judge is not None:
        for raw in raws:
            verdict = judge(raw)
            if verdict is NOTHING:
                return NOTHING
            if isinstance(verdict, Unknown):
                return Contribution((), (verdict,))
    return _contribution((word,), None, to_reasons)


def _contribution(
    words: tuple[object, ...], judge: Judge | None, to_reasons: _ToReasons
) -> Contribution | Nothing:
    if not words:
        return NO_CONTRIBUTION
    known: list[Reason] = []
    open_because: list[Unknown] = []
    passed_over = 0
    for word in words[:MOST_WORDS]:
        verdict = None if judge is None else judge(word)
        if verdict is NOTHING:
            passed_over += 1
        elif isinstance(verdict, Unknown):
            open_because.append(verdict)
        else:
            part = to_reasons(word)
            known.extend(part.known)
            open_because.extend(part.open_because)
    if len(words) > MOST_WORDS:
        open_because.append(Unknown(Why.OUT_OF_RANGE, f"{len(words)} words"))
    if passed_over == len(words):
        return NOTHING
    return Contribution(tuple(known), tuple(open_because))


def _compile_to_reasons(alternative: Alternative, *, only_text: bool) -> _ToReasons:
    if alternative.gives is not None:
        given = Contribution(reasons_named(alternative.gives))
        return lambda _raw: given
    if alternative.bits is not None:
        return _compile_bits(alternative.bits, alternative.base, alternative.others_none)
    if alternative.values is None:
        return _keyword_or_none if alternative.others_none else _keyword
    table = table_of(
        {code: Contribution(reasons_named(words)) for code, words in alternative.values.items()},
        only_text=only_text,
    )
    others_none = alternative.others_none

    def to_reasons(raw: object) -> Contribution:
        contribution = table.get(key_of(raw))
        if contribution is None:
            return NO_CONTRIBUTION if others_none else open_for(Why.UNMAPPED, written(raw))
        return contribution

    return to_reasons


def reasons_named(words: object) -> tuple[Reason, ...]:
    """The reasons of one keyword or of several; ``none`` gives none. Raises ``ReasonError``."""
    texts = words if isinstance(words, tuple) else (words,)
    return tuple(parse_reason(str(text)) for text in texts if str(text).lower() != NONE)


def every_reason_of(alternative: Alternative) -> frozenset[Reason] | None:
    """Every reason that an alternative can give, or ``None`` where it can give any."""
    words: list[object]
    if alternative.gives is not None:
        words = [alternative.gives]
    elif alternative.bits is not None:
        words = list(alternative.bits.values())
    elif alternative.values is not None:
        words = list(alternative.values.values())
    else:
        return None
    reasons = frozenset(reason for word in words for reason in reasons_named(word))
    return (
        reasons
        if alternative.severity is None
        else graded_in_every_way(alternative.severity, reasons)
    )


def _compile_bits(
    bits: Mapping[int, tuple[str, ...]],
    base: int,
    others_none: bool,  # noqa: FBT001 - passed through
) -> _ToReasons:
    table = {bit: reasons_named(words) for bit, words in bits.items()}

    def to_reasons(raw: object) -> Contribution:
        number = bits_in(raw, base)
        if number is None:
            return open_for(Why.WRONG_TYPE, f"'{shown(raw)}' has no bits")
        known: list[Reason] = []
        open_because: list[Unknown] = []
        for bit in _bits_set(number):
            if bit in table:
                known.extend(table[bit])
            elif not others_none:
                open_because.append(Unknown(Why.UNMAPPED, f"bit {bit}"))
        return Contribution(tuple(known), tuple(open_because))

    return to_reasons


def _bits_set(number: int) -> Iterator[int]:
    while number:
        lowest = number & -number
        yield lowest.bit_length() - 1
        number ^= lowest


def _keyword(raw: object) -> Contribution:
    """A device that speaks the registered keywords themselves."""
    if not isinstance(raw, str):
        return open_for(Why.WRONG_TYPE, f"{shown(raw)} is no keyword")
    word = raw.lower()
    if word == NONE:
        return NO_CONTRIBUTION
    if word == UNKNOWN_WORD:
        return open_for(Why.NO_VALUE, UNKNOWN_WORD)
    try:
        return Contribution((parse_reason(raw),))
    except ReasonError:
        return open_for(Why.UNMAPPED, written(raw))


def _keyword_or_none(raw: object) -> Contribution:
    contribution = _keyword(raw)
    unmapped = any(unknown.why is Why.UNMAPPED for unknown in contribution.open_because)
    return NO_CONTRIBUTION if unmapped else contribution
