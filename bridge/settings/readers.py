"""A reader, made for one printer, from the file's model."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from bridge.facts.forms import FormError, compile_form
from bridge.facts.reader import EndsAt, FactRule, Form, Only, Reader, Scalar, SentAt
from bridge.facts.reader import Message as ReaderMessage
from bridge.facts.vocabulary import FACTS, SITE_PREFIX, FactName, Kind, fact_named
from bridge.settings.addresses import refuse_secrets
from bridge.settings.alternatives import Around, alternative_of
from bridge.settings.filling import Filler
from bridge.settings.meanings import given_of
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.nearest import meant
from bridge.settings.reader_file import AllOf, FactWays, Found, Message, Ratio, ReaderFile
from bridge.settings.reader_file import Form as FormKeys
from bridge.settings.shapes import any_broken, whole, whole_items
from bridge.settings.spot import Spot

_LINK: Final = "link"
_REASONS: Final = "reasons"
_PASSED_OVER: Final = "_"


def reader_of(name: str, keys: ReaderFile, filler: Filler, spot: Spot) -> Reader:
    """The reader with everything in it that is right; problems go to ``spot``."""
    messages = dict(whole(keys.messages))
    names = Names("message", spot.document.file, frozenset(keys.messages))
    before = len(spot.problems)
    forms = list(_forms(keys, names, filler, spot.at("forms")))
    around = Around(messages, names, _parts_by_message(forms), filler)
    _refuse_unknown_parts(keys, forms, spot.at("forms"))
    _refuse_given_to_a_union(keys, spot.at("forms"))
    forms_are_right = len(spot.problems) == before and not any_broken(keys.forms)
    facts = {
        fact: _fact(fact, ways, around, spot.at("facts", fact)) for fact, ways in whole(keys.facts)
    }
    offers = frozenset(facts) | _facts_of_forms(forms)
    if forms_are_right and not any_broken(keys.facts.values()):
        _refuse_missing_ratio_parts(keys, offers, spot.at("facts"))
    _check_messages(keys, spot)
    return Reader(
        name=name,
        messages={
            name: _message(name, message, filler, spot.at("messages", name))
            for name, message in messages.items()
        },
        facts=facts,
        forms=tuple(form for form, _, _ in forms),
        offers=offers,
    )


def _forms(
    keys: ReaderFile, names: Names, filler: Filler, spot: Spot
) -> Iterator[tuple[Form, int, tuple[str, ...]]]:
    """Each form that is right, its place in the list, and the names of its parts."""
    for index, form in whole_items(keys.forms):
        at = spot.at(index)
        if not names.has(at.at("in"), form.message):
            continue
        message = dict(whole(keys.messages)).get(form.message)
        if form.at and message is not None and message.kind == "text":
            at.at("at").wrong_key(f"is for JSON, the message {form.message} is a text")
        try:
            parts = compile_form(form.form).names
        except FormError as error:
            at.at("form").wrong(str(error))
            continue
        if not parts and not form.gives:
            at.at("form").wrong(f"'{form.form}' names no part: write one as {{name}}, or add gives")
            continue
        place = filler.optional_place(form.at, at.at("at"))
        gives = tuple(_given(form, at.at("gives")))
        yield Form(form.message, form.form, place, gives), index, parts


def _given(form: FormKeys, spot: Spot) -> Iterator[tuple[str, Scalar | tuple[str, ...]]]:
    """What any text of a form gives."""
    for name, value in whole(form.gives):
        fact = fact_named(name)
        if fact is not None:
            yield name, given_of(fact, value, spot.at(name))


def _parts_by_message(
    forms: Iterable[tuple[Form, int, tuple[str, ...]]],
) -> Mapping[str, frozenset[str]]:
    parts: dict[str, frozenset[str]] = defaultdict(frozenset)
    for form, _, names in forms:
        parts[form.message] |= frozenset(names)
    return parts


def _refuse_unknown_parts(
    keys: ReaderFile, forms: Iterable[tuple[Form, int, tuple[str, ...]]], spot: Spot
) -> None:
    if any_broken(keys.facts.values()):
        return
    read = {
        (way.message, way.part) for _, way, _ in _ways(keys) if isinstance(way, Found) and way.part
    }
    for form, index, parts in forms:
        for part in parts:
            fact = fact_named(part)
            if (form.message, part) in read or (fact and _is_readable(fact)):
                continue
            near = meant(part, [*FACTS, _PASSED_OVER]) if fact is None else ""
            why = "is no fact, and no fact reads it as part" if fact is None else "cannot be a part"
            spot.at(index, "form").wrong(f"{{{part}}} {why}{near}")


def _is_readable(fact: FactName) -> bool:
    return fact.kind not in {Kind.REASONS, Kind.TRUTH}


def _facts_of_forms(forms: Iterable[tuple[Form, int, tuple[str, ...]]]) -> frozenset[str]:
    return frozenset(
        name
        for form, _, parts in forms
        for name in (*parts, *(fact for fact, _ in form.gives))
        if name in FACTS or name.startswith(SITE_PREFIX)
    )


def _refuse_given_to_a_union(keys: ReaderFile, spot: Spot) -> None:
    """A form that a text does not have would leave a union open for ever."""
    if not isinstance(dict(whole(keys.facts)).get(_REASONS), AllOf):
        return
    for index, form in whole_items(keys.forms):
        if _REASONS in form.gives:
            spot.at(index, "gives", _REASONS).wrong_key(
                "cannot stand beside all_of: give a list of ways to find the reasons"
            )


def _ways(keys: ReaderFile) -> Iterator[tuple[str, Found | Ratio, tuple[object, ...]]]:
    """Every alternative with its fact and the path to it from ``facts``."""
    for fact, ways in whole(keys.facts):
        path: tuple[object, ...] = (fact, "all_of") if isinstance(ways, AllOf) else (fact,)
        for index, way in enumerate(ways.all_of if isinstance(ways, AllOf) else ways):
            yield fact, way, (*path, index)


def _refuse_missing_ratio_parts(keys: ReaderFile, offers: frozenset[str], spot: Spot) -> None:
    ratios = {fact: way for fact, way, _ in _ways(keys) if isinstance(way, Ratio)}
    for fact, way, path in _ways(keys):
        if not isinstance(way, Ratio):
            continue
        for index, part in enumerate(way.ratio):
            at = spot.at(*path, "ratio", index)
            if part in ratios and part != fact:
                at.wrong(f"'{part}' is a ratio itself, expected facts that are read")
            elif part not in offers and fact_named(part):
                at.wrong(f"this reader never gives '{part}', add it to facts or to a form")


def _fact(name: str, ways: FactWays, around: Around, spot: Spot) -> FactRule:
    fact = fact_named(name) or FactName(name, Kind.TEXT)
    if isinstance(ways, AllOf):
        if fact.kind is not Kind.REASONS:
            spot.at("all_of").wrong_key(f"is for reasons, expected a list of ways to find {name}")
        spot_of, several, absent = spot.at("all_of"), ways.all_of, ways.absent is not None
    else:
        spot_of, several, absent = spot, ways, False
    found = [
        alternative_of(fact, way, around, spot_of.at(index)) for index, way in enumerate(several)
    ]
    return FactRule(
        fact=name,
        alternatives=tuple(alternative for alternative in found if alternative),
        union=isinstance(ways, AllOf),
        absent_none=absent,
    )


def _message(name: str, keys: Message, filler: Filler, spot: Spot) -> ReaderMessage:
    sent_at = None
    if keys.sent_at:
        place = filler.place(keys.sent_at.at, spot.at("sent_at", "at"))
        sent_at = SentAt(place, EndsAt(keys.sent_at.form)) if place else None
    return ReaderMessage(
        name=name,
        kind=keys.kind,
        fresh_for_ms=keys.fresh_for,
        required=keys.required,
        joins=keys.joins,
        full=filler.optional_place(keys.full, spot.at("full")),
        retained=keys.retained,
        sent_at=sent_at,
        beat=filler.optional_place(keys.beat, spot.at("beat")),
        every_ms=keys.every,
        within=filler.optional_place(keys.within, spot.at("within")),
        only=_only(keys, filler, spot.at("only")),
    )


def _only(keys: Message, filler: Filler, spot: Spot) -> Only | None:
    place = filler.place(keys.only.at, spot.at("at")) if keys.only else None
    if keys.only is None or place is None:
        return None
    values = keys.only.is_ if isinstance(keys.only.is_, list) else [keys.only.is_]
    if not values:
        spot.at("is").wrong("is an empty list, expected the values that it may be")
    return Only(place, tuple(filler.data(value) for value in values))


def _check_messages(keys: ReaderFile, spot: Spot) -> None:
    refuse_clashes(spot.at("messages"), keys.messages)
    refuse_clashes(spot.at("asks"), keys.asks)
    read_by = _read_by(keys)
    for name, message in whole(keys.messages):
        at = spot.at("messages", name)
        _check_joins(message, at)
        if message.request is not None:
            refuse_secrets(message.request.headers, at.at("request", "headers"))
        _check_freshness(message, read_by[name], at)
        if message.fresh_while:
            _check_link(keys, name, read_by, at.at("fresh_while"))
    broken = any_broken(keys.messages.values())
    if not broken and not any(message.required for _, message in whole(keys.messages)):
        spot.at("messages").wrong_key(
            "none is required, so nobody would notice silence: give one required: true"
        )


def _read_by(keys: ReaderFile) -> Mapping[str, set[str]]:
    """By message, the facts that read it."""
    read_by: dict[str, set[str]] = defaultdict(set)
    for fact, way, _ in _ways(keys):
        if isinstance(way, Found):
            read_by[way.message].add(fact)
    for _, form in whole_items(keys.forms):
        read_by[form.message].add("a form")
    return read_by


def _check_joins(message: Message, spot: Spot) -> None:
    if message.joins == "patch":
        if message.kind != "json":
            spot.at("joins").wrong("patches are JSON (RFC 7396), this message is a text")
        if message.full is None:
            spot.wrong_key(
                "needs 'full', a place that only whole documents have, as it joins patches"
            )
    elif message.full is not None:
        spot.at("full").wrong_key("is for joins: patch only")
    if message.joins == "patch" and message.within is not None:
        spot.at("within").wrong_key("cannot stand beside joins: patch")
    if message.kind == "text":
        for key in ("sent_at", "beat", "only", "within"):
            if getattr(message, key) is not None:
                spot.at(key).wrong_key("is for JSON, this message is a text")


def _check_freshness(message: Message, read_by: set[str], spot: Spot) -> None:
    if message.fresh_for and message.fresh_while:
        spot.at("fresh_while").wrong_key("cannot stand beside fresh_for")
    if not message.fresh_for and not message.fresh_while and read_by != {_LINK}:
        spot.wrong_key("needs 'fresh_for' (for example 40s) or 'fresh_while: link'")
    if message.fresh_for and message.every:
        check_twice(message.fresh_for, message.every, "every", spot.at("fresh_for"))


def check_twice(fresh_for_ms: int, interval_ms: int, what: str, spot: Spot) -> None:
    """Less than two intervals makes a fact unknown whenever one message is late."""
    if fresh_for_ms < 2 * interval_ms:
        spot.wrong(
            f"{in_words(fresh_for_ms)} is less than twice {what} ({in_words(interval_ms)}),"
            f" expected at least {in_words(2 * interval_ms)}"
        )


def in_words(milliseconds: int) -> str:
    """``90s``, as a person would write it here."""
    for unit, size in (("h", 3_600_000), ("m", 60_000), ("s", 1000)):
        if milliseconds % size == 0 and milliseconds >= size:
            return f"{milliseconds // size}{unit}"
    return f"{milliseconds}ms"


def _check_link(keys: ReaderFile, name: str, read_by: Mapping[str, set[str]], spot: Spot) -> None:
    """Without a link that the broker remembers, silence would count as no change for ever."""
    messages = {message for message, facts in read_by.items() if _LINK in facts}
    if not messages and not any_broken(keys.facts.values()):
        spot.wrong("needs a link fact in this reader, read from a message with retained: trust")
    if name in messages:
        spot.wrong("this message gives the link itself, give it fresh_for or neither")
    for other, message in whole(keys.messages):
        if other in messages and other != name and message.retained != "trust":
            spot.wrong(f"needs retained: trust at the message {other}, which gives the link")
