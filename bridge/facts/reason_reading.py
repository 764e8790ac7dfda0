"""One alternative for the ``reasons``: what it contributes, and what it leaves open."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, TypeAlias

from bridge.facts.codes import key_of, shown, table_of
from bridge.facts.judging import NOTHING, Judge, Nothing, bits_in, compile_judge
from bridge.facts.places import ABSENT, Absent, Document, Place
from bridge.facts.reader import Alternative
from bridge.facts.reading import Forms, Raw, Wildcards, compile_raw, has_only_text, nth_wildcard
from bridge.facts.reasons import NONE, ReasonError, parse_reason
from bridge.facts.values import Reason, Reasons, Unknown, Why
from bridge.facts.vocabulary import UNKNOWN_WORD

#: A printer has a handful of reasons; a list of thousands is no list of reasons.
MOST_WORDS: Final = 256
_REMEMBERED: Final = 64
_REMEMBERED_LENGTH: Final = 80

NO_REASONS: Final = Reasons(())


@dataclass(frozen=True, slots=True)
class Contribution:
    """The reasons that an alternative knows of, and why there may be more."""

    known: tuple[Reason, ...] = ()
    open_because: tuple[Unknown, ...] = ()


def open_for(why: Why, detail: str) -> Contribution:
    """No known reason, and one thing that stays open."""
    return Contribution((), (Unknown(why, detail),))


_NO_CONTRIBUTION: Final = Contribution()

#: Document and wildcards to a contribution, ``NOTHING`` (no reason, and that is known) or
#: ``ABSENT``.
ReadReasons: TypeAlias = Callable[[Document, Wildcards], Contribution | Nothing | Absent]
#: One word, code or number to what it contributes.
_ToReasons: TypeAlias = Callable[[object], Contribution]


def together(contributions: Iterable[Contribution]) -> Reasons:
    """The union of contributions, each reason once, sorted."""
    known: set[Reason] = set()
    open_because: Unknown | None = None
    for contribution in contributions:
        known.update(contribution.known)
        if open_because is None and contribution.open_because:
            open_because = contribution.open_because[0]
    if not known and open_because is None:
        return NO_REASONS
    return Reasons(tuple(sorted(known, key=_in_order)), open_because)


def _in_order(reason: Reason) -> tuple[str, int, str]:
    return reason.keyword, reason.severity.value, reason.said


def compile_reasons(alternative: Alternative, forms: Forms, *, text: bool) -> ReadReasons:
    """The read of an alternative for the reasons; ``text``: the message is a text."""
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
        return _NO_CONTRIBUTION
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
        return _compile_bits(alternative.bits, others_none=alternative.others_none)
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
            return _NO_CONTRIBUTION if others_none else open_for(Why.UNMAPPED, shown(raw))
        return contribution

    return to_reasons


def reasons_named(words: object) -> tuple[Reason, ...]:
    """The reasons of one keyword or of several; ``none`` gives none. Raises ``ReasonError``."""
    texts = words if isinstance(words, tuple) else (words,)
    return tuple(parse_reason(str(text)) for text in texts if str(text).lower() != NONE)


def _compile_bits(bits: Mapping[int, tuple[str, ...]], *, others_none: bool) -> _ToReasons:
    table = {bit: reasons_named(words) for bit, words in bits.items()}

    def to_reasons(raw: object) -> Contribution:
        number = bits_in(raw)
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
        return _NO_CONTRIBUTION
    if word == UNKNOWN_WORD:
        return open_for(Why.NO_VALUE, UNKNOWN_WORD)
    try:
        return Contribution((parse_reason(raw),))
    except ReasonError:
        return open_for(Why.UNMAPPED, shown(raw))


def _keyword_or_none(raw: object) -> Contribution:
    contribution = _keyword(raw)
    unmapped = any(unknown.why is Why.UNMAPPED for unknown in contribution.open_because)
    return _NO_CONTRIBUTION if unmapped else contribution
