"""What a controller says it shows, and where that differs from what it was told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from bridge.facts.places import ABSENT
from bridge.facts.quantities import parse_h_m_s, parse_iso_duration
from bridge.lights.dialect.codecs import CodecError, Json, number_of, same_json
from bridge.lights.dialect.grammar import DialectGrammar, NativeEffect, ReadTemplate, Restart
from bridge.lights.dialect.naming import place_names
from bridge.lights.dialect.replies import Misread, Parsed, parse
from bridge.lights.dialect.request import CompiledRequest, Prepared
from bridge.lights.dialect.templates import Scope, compile_template, text_form
from bridge.lights.place import Place


@dataclass(frozen=True, slots=True)
class Observation:
    """What an answer says: by segment, the raw values by name.

    ``missing``: segments that the answer does not hold. ``items``: every item of its list, for a
    dialect that has to send all of them back.
    """

    seen: Mapping[str, Mapping[str, object]]
    uptime_ms: int | None = None
    mark: str | None = None
    missing: tuple[str, ...] = ()
    items: tuple[Json, ...] = field(default=(), repr=False)
    #: Places of the main switch and brightness that are not as they must be.
    main_unlike: tuple[str, ...] = ()


class Reading:
    """A compiled ``read``."""

    __slots__ = ("_grammar", "_key", "_match", "_names", "_silent", "_told", "request", "template")

    def __init__(self, grammar: DialectGrammar, template: ReadTemplate) -> None:
        self._grammar: Final = grammar
        self.template: Final = template
        self.request: Final = CompiledRequest(template.request)
        self._match: Final = tuple((at, compile_template(wanted)) for at, wanted in template.match)
        self._key: Final = compile_template(template.keyed)
        matched = frozenset[str]().union(*(wanted.names for _, wanted in self._match))
        self._names: Final = self.request.names | self._key.names | matched
        self._told: Final = told_effects(grammar)
        # An effect without a name is told by the absence of any.
        self._silent: Final = any(name == "effect" for _, name in template.values) and any(
            native.name is None for natives in grammar.effects.values() for native in natives
        )

    def requests(self, places: Sequence[Place]) -> list[tuple[Prepared, tuple[Place, ...]]]:
        """One full read-back: equal requests are one, which tells about several places."""
        about: dict[Prepared, list[Place]] = {}
        for place in places:
            about.setdefault(self.request.fill(self._scope(place)), []).append(place)
        return [(request, tuple(told)) for request, told in about.items()]

    def observed(self, body: bytes, places: Sequence[Place]) -> Observation | Misread:
        """What the answer says about these places."""
        parsed = parse(body)
        if isinstance(parsed, Misread):
            return parsed
        items = self._items(parsed)
        if isinstance(items, Misread):
            return items
        found = {place.segment: self._item(place, parsed.document, items) for place in places}
        seen = {segment: self._values(item) for segment, item in found.items()}
        uptime_ms, mark = _restart(self.template.restart, parsed.document)
        return Observation(
            {segment: values for segment, values in seen.items() if values},
            uptime_ms,
            mark,
            tuple(segment for segment, values in seen.items() if not values),
            tuple(items),
            tuple(
                check.at.text
                for check in self.template.main
                if not same_json(_or_none(check.at.find(parsed.document)), check.wanted)
            ),
        )

    def item_of(self, body: bytes, place: Place) -> Json | Misread:
        """The part of an answer that is about a place."""
        parsed = parse(body)
        if isinstance(parsed, Misread):
            return parsed
        items = self._items(parsed)
        if isinstance(items, Misread):
            return items
        found = self._item(place, parsed.document, items)
        if found is ABSENT:
            return Misread(f"the answer has nothing about {place.segment}")
        return found

    def place_of(self, item: Json, places: Sequence[Place]) -> Place | None:
        """The place that an item of the list is about."""
        return next((place for place in places if self._is_about(item, self._scope(place))), None)

    def _scope(self, place: Place) -> Scope:
        return Scope(place_names(self._grammar, place, self._names))

    def _items(self, parsed: Parsed) -> list[Json] | Misread:
        each = self.template.each
        if each is None:
            return []
        if not each.single:
            return each.find_all(parsed.document)
        items = each.find(parsed.document)
        if not isinstance(items, list):
            return Misread(f"the answer has no list at {each.text or 'its root'}")
        return items

    def _item(self, place: Place, document: Json, items: Sequence[Json]) -> Json:
        if self.template.each is not None:
            scope = self._scope(place)
            return next((item for item in items if self._is_about(item, scope)), ABSENT)
        if self.template.keyed is None:
            return document
        keyed_at = self.template.keyed_at
        holder = document if keyed_at is None else keyed_at.find(document)
        key = text_form(self._key.render(self._scope(place)))
        return holder.get(key, ABSENT) if isinstance(holder, dict) else ABSENT

    def _is_about(self, item: Json, scope: Scope) -> bool:
        return all(_names(at.find(item), wanted.render(scope)) for at, wanted in self._match)

    def _values(self, item: Json) -> dict[str, object]:
        if item is ABSENT:
            return {}
        values = {
            name: found
            for at, name in self.template.values
            if (found := at.find(item)) is not ABSENT
        }
        if not values:
            return {}
        if self._silent and "effect" not in values:
            values["effect"] = None
        if self._told:
            values.update(_told_value(self._told, item))
        for check in self.template.must:
            values[check.at.text] = _or_none(check.at.find(item))
        return values


def _names(found: Json, wanted: Json) -> bool:
    """Whether two values name one segment: a number may be answered as a text."""
    if found is ABSENT:
        return False
    return same_json(found, wanted) or text_form(found) == text_form(wanted)


def told_effects(grammar: DialectGrammar) -> tuple[tuple[str, NativeEffect], ...]:
    """The effects that an answer tells otherwise than by a name."""
    return tuple(
        (effect, native)
        for effect, natives in grammar.effects.items()
        for native in natives
        if native.told is not None
    )


def told_form(effect: str, native: NativeEffect) -> dict[str, Json]:
    """How such an effect stands among the observed values."""
    return {"effect": effect, "period_ms": native.period_ms}


def _told_value(told: Sequence[tuple[str, NativeEffect]], item: Json) -> dict[str, Json]:
    for effect, native in told:
        if native.told is not None:
            found = native.told.at.find(item)
            wanted = native.told.wanted
            if found is not ABSENT and (wanted is None or same_json(found, wanted)):
                return {"effect": told_form(effect, native)}
    return {}


def _or_none(found: Json) -> Json:
    return None if found is ABSENT else found


def _restart(restart: Restart | None, document: Json) -> tuple[int | None, str | None]:
    """Uptime and mark, as far as the answer has them."""
    if restart is None or (found := restart.at.find(document)) is ABSENT:
        return None, None
    if restart.form == "mark":
        return None, text_form(found)
    return _uptime_ms(restart, found), None


def _uptime_ms(restart: Restart, found: Json) -> int | None:
    if restart.written == "number":
        try:
            return int(number_of(found) * restart.unit_ms)
        except CodecError:
            return None
    parse_text = parse_h_m_s if restart.written == "h:m:s" else parse_iso_duration
    seconds = parse_text(found) if isinstance(found, str) else None
    return None if seconds is None else int(seconds * 1000)
