"""A painted frame as requests: all of it or its changed ranges, each body within the limit."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

from bridge.lights.dialect.codecs import Json, encode_count, told_ms
from bridge.lights.dialect.grammar import DialectGrammar, RequestTemplate
from bridge.lights.dialect.naming import (
    FADE,
    PIXEL,
    WHITE,
    Light,
    light_names,
    painted_light,
    place_names,
)
from bridge.lights.dialect.request import CompiledRequest, Prepared
from bridge.lights.dialect.templates import Pixels, Scope
from bridge.lights.look import Still
from bridge.lights.place import Place
from bridge.scenes.scene import BLACK, Colour


@dataclass(frozen=True, slots=True)
class Run:
    """Pixels of one colour in a frame; ``first`` counts from the frame's start."""

    first: int
    length: int
    colour: Colour


def runs_of(frame: bytes, before: bytes | None = None) -> list[Run]:
    """The runs of equal colour that hold a pixel unlike ``before``, trimmed to what changed."""
    runs = []
    first = 0
    for colour, group in groupby(_colours(frame)):
        length = sum(1 for _ in group)
        run = Run(first, length, colour)
        changed = run if before is None else _changed_part(run, before)
        if changed is not None:
            runs.append(changed)
        first += length
    return runs


def _changed_part(run: Run, before: bytes) -> Run | None:
    colour = bytes(run.colour)
    start, end = run.first, run.first + run.length
    if before[3 * start : 3 * end] == colour * run.length:
        return None
    while before[3 * start : 3 * start + 3] == colour:
        start += 1
    while before[3 * end - 3 : 3 * end] == colour:
        end -= 1
    return Run(start, end - start, run.colour)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Pixels beside each other, what they are to show, and how long the change may take."""

    place: Place
    frame: bytes
    fade_ms: int

    def part(self, first: int, length: int) -> _Stretch:
        """Some of them, counted from the first."""
        here = self.place
        place = Place(here.segment, here.number, here.first + first, length)
        return _Stretch(place, self.frame[3 * first : 3 * (first + length)], self.fade_ms)


class Painter:
    """The compiled ``paint`` of a dialect."""

    __slots__ = (
        "_by_range",
        "_divisible",
        "_grammar",
        "_limit",
        "_most",
        "_names",
        "_then",
        "has_white",
        "request",
    )

    def __init__(self, grammar: DialectGrammar, template: RequestTemplate) -> None:
        #: A painted pixel is written by its own codec, where it has one.
        colour = grammar.pixel_colour or grammar.colour
        self._grammar: Final = replace(grammar, colour=colour)
        self._limit: Final = grammar.limits.body_bytes
        self.request: Final = CompiledRequest(template)
        self._then: Final = None if template.then is None else CompiledRequest(template.then)
        after = frozenset[str]() if self._then is None else self._then.names
        self._names: Final = self.request.names | after
        self.has_white: Final = WHITE in self._names
        self._by_range: Final = self.request.repeats_each("range")
        bounds = [repeat.most for repeat in self.request.repeats if repeat.most is not None]
        self._most: Final = min(bounds, default=None)
        self._divisible: Final = any(
            use.name == PIXEL or (use.name == "first" and "pixel" not in use.inside)
            for use in self.request.uses
        )

    def requests(
        self, place: Place, frame: bytes, before: bytes | None, fade_ms: int = 0
    ) -> tuple[Prepared, ...]:
        """What turns ``before`` into ``frame``; ``before`` is ``None`` where it is not known."""
        if before is not None and len(before) != len(frame):
            before = None
        if before == frame:
            return ()
        whole = _Stretch(place, frame, fade_ms)
        return (*self._parts(whole, before), *self._after(whole))

    def fade_ms(self, look: Still) -> int:
        """How long the change takes, as it is told: in whole units, or at once where it is not."""
        return told_ms(self._grammar.fade, look.fade_ms) if FADE in self._names else 0

    def _parts(self, whole: _Stretch, before: bytes | None) -> tuple[Prepared, ...]:
        if self._by_range:
            runs = runs_of(whole.frame, before)
            return self._divided(len(runs), lambda start, end: self._ranges(whole, runs[start:end]))
        length = whole.place.length
        if not self._divisible:
            return (self._pixels(whole.part(0, length)),)
        return self._divided(
            length, lambda start, end: self._pixels(whole.part(start, end - start))
        )

    def _after(self, whole: _Stretch) -> tuple[Prepared, ...]:
        if self._then is None:
            return ()
        return (self._then.fill(Scope(self._names_of(whole))),)

    def _divided(self, count: int, fill: Callable[[int, int], Prepared]) -> tuple[Prepared, ...]:
        """Each request takes as many parts as fit the limit; one, where even that does not."""
        requests = []
        start = 0
        size = count if self._most is None else min(count, self._most)
        while start < count:
            end = min(start + size, count)
            request = fill(start, end)
            written = len(request.body or b"")
            if written <= self._limit or end - start == 1:
                requests.append(request)
                start = end
            else:
                size = max(1, min(end - start - 1, (end - start) * self._limit // written))
        return tuple(requests)

    def _ranges(self, whole: _Stretch, runs: Iterable[Run]) -> Prepared:
        names = self._names_of(whole)
        parts = (whole.part(run.first, run.length) for run in runs)
        return self._fill(Scope(names, ranges=[Scope(self._names_of(part)) for part in parts]))

    def _pixels(self, there: _Stretch) -> Prepared:
        names = self._names_of(there)

        def pixel_names(number: int, colour: Colour) -> Mapping[str, Json]:
            pixel = light_names(self._grammar, self._light(colour, there), self._names)
            return {**names, **pixel, PIXEL: encode_count(self._grammar.pixel, number)}

        return self._fill(Scope(names, pixels=Pixels(there.place.first, there.frame, pixel_names)))

    def _names_of(self, there: _Stretch) -> dict[str, Json]:
        """The names of a stretch; its light is lit if any of its pixels is."""
        colour = next((c for c in _colours(there.frame) if any(c)), BLACK)
        return {
            **place_names(self._grammar, there.place, self._names),
            **light_names(self._grammar, self._light(colour, there), self._names),
        }

    def _light(self, colour: Colour, there: _Stretch) -> Light:
        return painted_light(colour, has_white=self.has_white, fade_ms=there.fade_ms)

    def _fill(self, scope: Scope) -> Prepared:
        if self.request.repeats_each("segment"):
            scope = Scope({}, segments=(scope,))
        return self.request.fill(scope)


def _colours(frame: bytes) -> Iterator[Colour]:
    return zip(frame[0::3], frame[1::3], frame[2::3], strict=True)
