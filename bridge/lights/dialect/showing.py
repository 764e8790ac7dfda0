"""Native looks as requests: one compiled template for each effect that adds to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bridge.lights.dialect.codecs import Json, decode_scale, told_ms
from bridge.lights.dialect.decoding import colour_of, known
from bridge.lights.dialect.grammar import DialectGrammar, NativeEffect, RequestTemplate
from bridge.lights.dialect.naming import FADE, WHITE, Light, light_names, native_light, place_names
from bridge.lights.dialect.readback import Reading
from bridge.lights.dialect.request import CompiledRequest, Prepared
from bridge.lights.dialect.templates import Render, Scope, compile_template, merged
from bridge.lights.look import Native
from bridge.lights.place import Place
from bridge.scenes.scene import PERIOD_BAND_MS, PERIOD_MS, Colour, Rate

#: The effect of a dialect that has no word for it.
PLAIN: Final = NativeEffect(None)
#: The brightest that a colour can be.
_ANY: Final[Colour] = (255, 255, 255)


@dataclass(frozen=True, slots=True)
class _Variant:
    """An effect that can be shown, and the request that shows it."""

    native: NativeEffect
    request: CompiledRequest
    put: Render | None
    tells_fade: bool


class Shower:
    """The compiled ``show`` of a dialect."""

    __slots__ = ("_grammar", "_names", "_then", "_variants", "batch", "folded", "request")

    def __init__(self, grammar: DialectGrammar, template: RequestTemplate) -> None:
        self._grammar: Final = grammar
        self.request: Final = CompiledRequest(template)
        self.batch: Final = self.request.repeats_each("segment")
        self._then: Final = None if template.then is None else CompiledRequest(template.then)
        self._names: Final = shown_names(grammar, template)
        self.folded: Final = "level" not in self._names
        self._variants: Final = {
            (effect, rate): self._variant(template, native)
            for effect in ("steady", "flash")
            for rate in PERIOD_MS
            if (native := usable(grammar, self._names, effect, rate)) is not None
        }

    def _variant(self, template: RequestTemplate, native: NativeEffect) -> _Variant:
        after = frozenset[str]() if self._then is None else self._then.names
        if native.adds is None:
            return _Variant(native, self.request, None, FADE in self.request.names | after)
        if self.batch:
            put = compile_template(merged(_segment_put(template.body), native.adds))
            return _Variant(native, self.request, put.render, FADE in put.names | after)
        request = CompiledRequest(with_adds(template, native.adds))
        return _Variant(native, request, None, FADE in request.names | after)

    def can(self, effect: str, rate: Rate) -> NativeEffect | None:
        """The native effect for that, or ``None``."""
        variant = self._variants.get((effect, rate))
        return None if variant is None else variant.native

    def light(self, look: Native) -> Light:
        """A look as it is written."""
        native = self.can(look.effect, look.rate) or PLAIN
        white = self.writes(WHITE)
        return native_light(self._grammar, look, native, folded=self.folded, has_white=white)

    def comes_out(self, look: Native) -> tuple[Colour, float]:
        """The colour and the level that are told, as the codecs round them.

        Where no colour is told, the controller's own may be any.
        """
        told = light_names(self._grammar, self.light(look), self._names)
        colour = known(lambda: colour_of(self._grammar, told))
        scale = self._grammar.level
        level = None if self.folded else known(lambda: decode_scale(scale, told["level"]))
        return (_ANY if colour is None else colour), (1.0 if level is None else level)

    def fade_ms(self, look: Native) -> int:
        """How long the change takes, as it is told: in whole units, or at once where it is not."""
        variant = self._variants.get((look.effect, look.rate))
        if variant is None or not variant.tells_fade:
            return 0
        return told_ms(self._grammar.fade, look.fade_ms)

    def writes(self, name: str) -> bool:
        """Whether the name stands anywhere in what is sent."""
        return name in self._names

    def fill(self, items: Sequence[tuple[Place, Native]]) -> Prepared:
        """The request that shows the items: one of them unless ``batch``."""
        if self.batch:
            return self.request.fill(Scope({}, segments=[self._scope(*item) for item in items]))
        ((place, look),) = items
        variant = self._variants[look.effect, look.rate]
        return variant.request.fill(self._scope(place, look))

    def fill_echoing(
        self, items: Sequence[tuple[Place, Native]], echo: Sequence[Json], reading: Reading
    ) -> Prepared:
        """As ``fill``; what of the list last read is not among the items is sent as it was read.

        Items that the list does not have come after it: it is to have them.
        """
        ours, there, scopes = dict(items), set[Place](), []
        for item in echo:
            place = reading.place_of(item, tuple(ours))
            if place is None:
                scopes.append(_as_read(item))
            else:
                there.add(place)
                scopes.append(self._scope(place, ours[place]))
        scopes += [self._scope(*item) for item in items if item[0] not in there]
        return self.request.fill(Scope({}, segments=scopes))

    def after(self, items: Sequence[tuple[Place, Native]]) -> tuple[Prepared, ...]:
        """What must follow before anything shows."""
        if self._then is None:
            return ()
        return tuple(dict.fromkeys(self._then.fill(self._scope(*item)) for item in items))

    def _scope(self, place: Place, look: Native) -> Scope:
        names = {
            **place_names(self._grammar, place, self._names),
            **light_names(self._grammar, self.light(look), self._names),
        }
        return Scope(names, put=self._variants[look.effect, look.rate].put)


def shown_names(grammar: DialectGrammar, template: RequestTemplate) -> frozenset[str]:
    """Every name that any effect's request uses."""
    adds = [native.adds for natives in grammar.effects.values() for native in natives]
    parts = [CompiledRequest(template).names, *(compile_template(add).names for add in adds)]
    if template.then is not None:
        parts.append(CompiledRequest(template.then).names)
    return frozenset[str]().union(*parts)


def usable(
    grammar: DialectGrammar, names: frozenset[str], effect: str, rate: Rate
) -> NativeEffect | None:
    """The native effect that shows this: for a flash the one whose period fits the rate best."""
    natives = grammar.effects.get(effect, ())
    if effect != "flash":
        plain = PLAIN if "effect" not in names else None
        return natives[0] if natives else plain
    least, most = PERIOD_BAND_MS[rate]
    fitting = [
        (abs(native.period_ms - PERIOD_MS[rate]), index)
        for index, native in enumerate(natives)
        if native.period_ms is not None and least <= native.period_ms <= most
    ]
    return natives[min(fitting)[1]] if fitting else None


def with_adds(template: RequestTemplate, adds: Json) -> RequestTemplate:
    """The request with an effect's own members."""
    if template.body is None:
        return replace(template, query=merged(template.query, adds))
    return replace(template, body=merged(template.body, adds))


def _segment_put(template: Json) -> Json:
    """What ``each: segment`` repeats, wherever it stands."""
    if isinstance(template, Mapping):
        if template.get("each") == "segment":
            return template.get("put")
        parts: Sequence[Json] = tuple(template.values())
    else:
        parts = template if isinstance(template, list | tuple) else ()
    return next((put for part in parts if (put := _segment_put(part)) is not None), None)


def _as_read(item: Json) -> Scope:
    return Scope({}, put=lambda _: item)
