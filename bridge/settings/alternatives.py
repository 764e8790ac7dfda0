"""One way to find a fact, from the file's model to the reader's frozen type."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from bridge.facts.places import Place
from bridge.facts.reader import Also, Alternative, EndsAt, Graded, Is, Unit
from bridge.facts.reasons import split_severity
from bridge.facts.vocabulary import SITE_PREFIX, FactName, Kind, fact_named
from bridge.settings.conditions import interval_of
from bridge.settings.filling import Filler
from bridge.settings.meanings import (
    DURATION_FORMS,
    given_of,
    keywords_of,
    severities_of,
    units_for,
    values_of,
)
from bridge.settings.names import Names
from bridge.settings.nearest import listed, meant
from bridge.settings.reader_file import Also as AlsoKeys
from bridge.settings.reader_file import Found, IsKeys, Message, Ratio
from bridge.settings.spot import Spot

#: Keys that only a number has use for, a time to completion, or reasons.
_FOR_NUMBERS: Final = ("minus", "of", "unit", "scale", "least", "most")
_FOR_REASONS: Final = (
    "others",
    "split",
    "bits",
    "each",
    "flags",
    "severity",
    "absent",
    "expects",
)
_FOR_JSON: Final = ("at", "minus", "of", "also", "each", "flags", "severity")
#: What cannot be said of an object's members, or of a list's elements.
_NOT_FLAGS: Final = ("part", "wildcard", "split", "is", "gives", "bits", "unless", "no_value")
_NOT_EACH: Final = ("part", "wildcard")
#: What gives the value: one of these, or the raw value itself.
_MEANINGS: Final = ("gives", "values", "bits")


@dataclass(frozen=True, slots=True)
class Around:
    """What an alternative may refer to."""

    messages: Mapping[str, Message]
    names: Names
    #: By message, the parts of its forms.
    parts: Mapping[str, frozenset[str]]
    filler: Filler


def alternative_of(
    fact: FactName, keys: Found | Ratio, around: Around, spot: Spot
) -> Alternative | None:
    """The alternative, or ``None`` and a problem."""
    before = len(spot.problems)
    if isinstance(keys, Ratio):
        _check_ratio(fact, keys, spot)
        found = Alternative(ratio=(keys.ratio[0], keys.ratio[1]))
    else:
        _check_place(keys, around, spot)
        _check_fit(fact, keys, spot)
        found = _found(fact, keys, around.filler, spot)
    return found if len(spot.problems) == before else None


def _check_ratio(fact: FactName, keys: Ratio, spot: Spot) -> None:
    if not _is_numeric(fact):
        spot.at("ratio").wrong_key(f"is a number, {fact.name} is none")
    for index, name in enumerate(keys.ratio):
        part = fact_named(name)
        if part is None or not _is_numeric(part) or name == fact.name:
            spot.at("ratio", index).wrong(f"'{name}' is no other fact that is a number")


def _is_numeric(fact: FactName) -> bool:
    return fact.kind is Kind.NUMBER or fact.name.startswith(SITE_PREFIX)


def _check_place(keys: Found, around: Around, spot: Spot) -> None:
    if not around.names.has(spot.at("in"), keys.message):
        return
    message = around.messages.get(keys.message)
    if message is not None and message.kind == "text":
        for key in _FOR_JSON:
            if getattr(keys, key):
                spot.at(key).wrong_key(f"is for JSON, the message {keys.message} is a text")
    if keys.part is None:
        return
    if keys.at is not None:
        spot.at("at").wrong_key("cannot stand beside part: the form has the place")
    known = around.parts.get(keys.message, frozenset())
    if keys.part not in known:
        spot.at("part").wrong(
            f"'{keys.part}' is no part of a form of {keys.message}{meant(keys.part, known)}"
        )


def _check_fit(fact: FactName, keys: Found, spot: Spot) -> None:
    given = keys.model_fields_set
    if not _is_numeric(fact):
        for key in given.intersection(_FOR_NUMBERS):
            spot.at(key).wrong_key(f"is for numbers, {fact.name} is none")
    if fact.kind is not Kind.REASONS:
        for key in given.intersection(_FOR_REASONS):
            spot.at(key).wrong_key(f"is for reasons, this is {fact.name}")
    if keys.ends_at and fact.unit != "s" and not fact.name.startswith(SITE_PREFIX):
        spot.at("ends_at").wrong_key(f"is for time-to-completion, this is {fact.name}")
    meanings = [key for key in _MEANINGS if key in given]
    if len(meanings) > 1:
        spot.at(meanings[1]).wrong_key(f"cannot stand beside {meanings[0]}")
    _check_together(keys, spot)
    if keys.others and not given.intersection(("values", "bits")):
        spot.at("others").wrong_key("is for what values or bits leave out, there are none here")


def _check_together(keys: Found, spot: Spot) -> None:
    """Keys that need others, and keys that cannot stand beside them."""
    given = {_NAMES.get(key, key) for key in keys.model_fields_set}
    for one, others in (("flags", _NOT_FLAGS), ("each", _NOT_EACH)):
        for key in others if one in given else ():
            if key in given:
                spot.at(key).wrong_key(f"cannot stand beside {one}")
    if keys.base and keys.bits is None and not _asks_a_bit(keys.is_):
        spot.at("base").wrong_key("is for bits, or for is with a bit")
    if keys.expects and keys.wildcard is None:
        spot.at("expects").wrong_key("needs 'wildcard', whose texts it lists")
    if keys.severity and not given.intersection(_MEANINGS):
        spot.at("severity").wrong_key("needs values, bits or gives, which name the reasons")


_NAMES: Final = {"is_": "is"}


def _asks_a_bit(test: object) -> bool:
    return isinstance(test, IsKeys) and test.bit is not None


def _found(fact: FactName, keys: Found, filler: Filler, spot: Spot) -> Alternative:
    given = keys.model_fields_set
    return Alternative(
        message=keys.message,
        at=filler.optional_place(keys.at, spot.at("at")),
        part=keys.part,
        wildcard=keys.wildcard,
        expects=tuple(keys.expects or ()),
        also=tuple(_also(keys.also or [], filler, spot.at("also"))),
        each=_single(keys.each, filler, spot.at("each")),
        unless=tuple(keys.unless),
        no_value=tuple(keys.no_value),
        is_=_is(keys.is_, spot.at("is")) if "is_" in given else None,
        gives=given_of(fact, keys.gives, spot.at("gives")) if "gives" in given else None,
        split=keys.split,
        values=None if keys.values is None else values_of(fact, keys.values, spot.at("values")),
        others_none=keys.others is not None,
        bits=_bits(keys.bits, spot.at("bits")),
        base=keys.base or 10,
        flags=keys.flags is True,
        severity=_graded(keys, filler, spot),
        absent_none=keys.absent is not None,
        minus=filler.optional_place(keys.minus, spot.at("minus")),
        of=filler.optional_place(keys.of, spot.at("of")),
        unit=_unit(fact, keys.unit, spot.at("unit")),
        scale=_scale(keys.scale, spot.at("scale")),
        ends_at=EndsAt(keys.ends_at) if keys.ends_at else None,
        least=keys.least,
        most=_most(keys, spot.at("most")),
    )


def _also(several: list[AlsoKeys], filler: Filler, spot: Spot) -> Iterator[Also]:
    for index, keys in enumerate(several):
        at = spot.at(index)
        place = filler.place(keys.at, at.at("at"))
        tests = "is_" in keys.model_fields_set
        if tests == (keys.absent is not None):
            at.wrong_key("needs either 'is' or 'absent: true'")
        elif place is not None:
            yield Also(place, _is(keys.is_, at.at("is")) if tests else None)


def _single(text: str | None, filler: Filler, spot: Spot) -> Place | None:
    place = filler.optional_place(text, spot)
    if place is not None and not place.single:
        spot.wrong(f"'{place.text}' may be several places, expected that of one list")
    return place


def _graded(keys: Found, filler: Filler, spot: Spot) -> Graded | None:
    if keys.severity is None:
        return None
    _refuse_suffixes(keys, spot)
    place = _single(keys.severity.at, filler, spot.at("severity", "at"))
    return None if place is None else Graded(place, severities_of(keys.severity.values))


def _refuse_suffixes(keys: Found, spot: Spot) -> None:
    """A reason cannot be as severe as its keyword says and as another place says."""
    meanings: dict[tuple[Any, ...], Any] = {("gives",): keys.gives}
    for key in ("values", "bits"):
        meanings |= {(key, word): meaning for word, meaning in (getattr(keys, key) or {}).items()}
    for path, meaning in meanings.items():
        for word in meaning if isinstance(meaning, list) else [meaning]:
            if isinstance(word, str) and split_severity(word)[1] is not None:
                spot.at(*path).wrong(f"'{word}' has a suffix, which is what severity is for")


def _is(keys: Any, spot: Spot) -> Is:  # noqa: ANN401 - a value, a list or a mapping
    if isinstance(keys, list):
        if not keys:
            spot.wrong("is an empty list, expected the values that it may be")
        return Is(values=tuple(keys))
    if not isinstance(keys, IsKeys):
        return Is(values=(keys,))
    ends = {key: float(getattr(keys, key)) for key in keys.model_fields_set - {"bit"}}
    if keys.bit is not None:
        if ends:
            spot.at("bit").wrong_key("cannot stand beside the ends of an interval")
        return Is(bit=keys.bit)
    interval = interval_of(ends) if ends else "is an empty test, expected a value, bit or an end"
    if isinstance(interval, str):
        spot.wrong(interval)
        return Is()
    return Is(interval=interval)


def _bits(bits: dict[int, Any] | None, spot: Spot) -> dict[int, tuple[str, ...]] | None:
    if bits is None:
        return None
    return {bit: keywords_of(words, spot.at(bit)) or () for bit, words in bits.items()}


def _unit(fact: FactName, text: str | None, spot: Spot) -> Unit | None:
    if text is None:
        return None
    units = units_for(fact)
    if text in DURATION_FORMS:
        if "s" in units:
            return Unit(text, form="h:m:s" if text == "h:m:s" else "iso 8601")
    else:
        number, _, unit = text.rpartition(" ")
        if unit in units:
            factor, offset = units[unit]
            return Unit(text, factor * float(number or 1), offset)
    if _is_numeric(fact):
        forms = DURATION_FORMS if "s" in units else ()
        expected = f", expected {listed([*units, *forms])}" if units else ", it has none"
        spot.wrong(f"'{text}' is no unit of {fact.name}{expected}")
    return None


def _scale(scale: list[float] | None, spot: Spot) -> tuple[float, float] | None:
    if scale is None:
        return None
    if scale[0] == scale[1]:
        spot.wrong("both ends are the same, expected the raw numbers for 0 and for 1")
    return scale[0], scale[1]


def _most(keys: Found, spot: Spot) -> float | None:
    if keys.least is not None and keys.most is not None and keys.least > keys.most:
        spot.wrong(f"{keys.most:g} is below least, which is {keys.least:g}")
    return keys.most
