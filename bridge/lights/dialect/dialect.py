"""A dialect, compiled: looks to requests, and answers back to what is shown."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal, TypeAlias

from bridge.facts.places import ABSENT
from bridge.lights.calibrating import calibrated, calibrated_native
from bridge.lights.dialect.booting import Booting
from bridge.lights.dialect.capturing import Capturing
from bridge.lights.dialect.codecs import CodecError, Json, number_of
from bridge.lights.dialect.comparing import Comparison
from bridge.lights.dialect.decoding import Decoded, decoded
from bridge.lights.dialect.grammar import (
    DialectGrammar,
    NativeEffect,
    RequestTemplate,
)
from bridge.lights.dialect.naming import WHITE, place_names
from bridge.lights.dialect.painting import Painter
from bridge.lights.dialect.problems import problems_of
from bridge.lights.dialect.readback import Observation, Reading
from bridge.lights.dialect.replies import Answer, Misread, Verdict, judge, parse
from bridge.lights.dialect.request import CompiledRequest, Prepared
from bridge.lights.dialect.showing import Shower
from bridge.lights.dialect.templates import Scope, text_form
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.place import Place
from bridge.scenes.calibration import calibrated_frame
from bridge.scenes.scene import Colour, Rate

__all__ = [
    "Answer",
    "Dialect",
    "Identity",
    "Misread",
    "Observation",
    "Prepared",
    "Verdict",
    "problems_of",
]

Purpose: TypeAlias = Literal[
    "show",
    "paint",
    "read",
    "identify",
    "define",
    "master",
    "capture",
    "restore",
    "read boot",
    "write boot",
]

#: Looks repeat: a segment has a handful of them. Frames are large, and fewer are kept.
_SHOWS_KEPT: Final = 1024
_PAINTS_KEPT: Final = 64
_READS_KEPT: Final = 16


@dataclass(frozen=True, slots=True)
class Identity:
    """Who a controller says it is, and how many pixels it says it has."""

    identity: str | None
    pixels: int | None


class Dialect:
    """How one kind of controller speaks, compiled once from its grammar.

    The grammar must be free of ``problems_of``: what is called without its template raises
    ``LookupError``.
    """

    def __init__(self, grammar: DialectGrammar) -> None:
        self.grammar: Final = grammar
        self.name: Final = grammar.name
        self.limits: Final = grammar.limits
        self._shower: Final = None if grammar.show is None else Shower(grammar, grammar.show)
        self._painter: Final = None if grammar.paint is None else Painter(grammar, grammar.paint)
        self._reading: Final = None if grammar.read is None else Reading(grammar, grammar.read)
        self._reading_paint: Final = (
            None if grammar.read_paint is None else Reading(grammar, grammar.read_paint)
        )
        self._identify: Final = (
            None if grammar.identify is None else CompiledRequest(grammar.identify.request)
        )
        self._define: Final = _compiled(grammar.define)
        self._master: Final = _compiled(grammar.master)
        self.booting: Final = None if grammar.boot is None else Booting(grammar, grammar.boot)
        self.capturing: Final = (
            None
            if grammar.capture is None or grammar.restore is None
            else Capturing(grammar, grammar.capture, grammar.restore)
        )
        self._comparison: Final = Comparison(grammar, self._shower, self._painter)
        self._templates: Final = _templates(grammar)
        self._show = lru_cache(_SHOWS_KEPT)(self._render_show)
        self._paint = lru_cache(_PAINTS_KEPT)(self._render_paint)
        self._reads = lru_cache(_READS_KEPT)(self._render_reads)

    @property
    def _shows_white(self) -> bool:
        return self._shower is not None and self._shower.writes(WHITE)

    @property
    def paints(self) -> bool:
        """Whether single pixels can be painted."""
        return self._painter is not None

    @property
    def reads(self) -> bool:
        """Whether what is shown can be read back."""
        return self._reading is not None

    @property
    def read_every_ms(self) -> int:
        """How often to read back; 0 where that cannot be done."""
        return 0 if self.grammar.read is None else self.grammar.read.every_ms

    @property
    def tells_restart(self) -> bool:
        """Whether a read-back tells that the controller began anew."""
        return self.grammar.read is not None and self.grammar.read.restart is not None

    @property
    def identifies(self) -> bool:
        """Whether the controller says who it is."""
        return self._identify is not None

    @property
    def defines(self) -> bool:
        """Whether the controller must be told which of its pixels a segment is."""
        return self._define is not None

    @property
    def tells_place(self) -> bool:
        """Whether a read-back tells which of its pixels a segment is."""
        reads = (self.grammar.read, self.grammar.read_paint)
        names = {name for read in reads if read is not None for _, name in read.values}
        return not names.isdisjoint({"first", "last", "length"})

    @property
    def tells_main(self) -> bool:
        """Whether a read-back tells the main switch or the main brightness."""
        return self.grammar.read is not None and bool(self.grammar.read.main)

    @property
    def has_master(self) -> bool:
        """Whether the main switch and the main brightness can be set."""
        return self._master is not None

    @property
    def lasts_ms(self) -> int | None:
        """After how long a look expires; ``None``: it does not."""
        return self.grammar.lasts_ms

    @property
    def batch(self) -> bool:
        """Whether one ``show`` carries several segments."""
        return self._shower is not None and self._shower.batch

    @property
    def echoes(self) -> bool:
        """Whether a ``show`` must carry everything that was last read."""
        return self.grammar.show is not None and self.grammar.show.sends == "all"

    def can(self, effect: str, rate: Rate) -> NativeEffect | None:
        """The controller's own effect for that, or ``None``; a gauge is never its own."""
        return None if self._shower is None else self._shower.can(effect, rate)

    @property
    def channels(self) -> int:
        """How many channels a pixel has: four where the strip has a white of its own."""
        if self._shows_white or (self._painter is not None and self._painter.has_white):
            return 4
        codecs = (self.grammar.colour, self.grammar.pixel_colour or self.grammar.colour)
        return max(len(c.keys if c.form == "object" else c.order) for c in codecs)

    def comes_out(self, look: Native) -> tuple[Colour, float]:
        """The colour and the level that are told for a look, as the codecs round them."""
        return self._need_shower().comes_out(look)

    def fade_ms(self, look: Look) -> int:
        """How long the change to a look takes, as it is told; what moves is there at once."""
        if isinstance(look, Native):
            return self._need_shower().fade_ms(look)
        return 0 if isinstance(look, Moving) else self._need_painter().fade_ms(look)

    def show(self, items: Sequence[tuple[Place, Native]], echo: Sequence[Json] = ()) -> Prepared:
        """The request that shows the items, one of them unless ``batch``.

        ``echo``: the ``items`` of the last observation, where the dialect ``echoes``.
        """
        items = _as_told(items)
        if echo and self.echoes and self._reading is not None:
            return self._need_shower().fill_echoing(items, echo, self._reading)
        return self._show(tuple(items))

    def foreign(self, echo: Sequence[Json], places: Sequence[Place]) -> tuple[Json, ...]:
        """The items of a list last read that are about none of these places."""
        reading = self._reading
        if reading is None:
            return ()
        return tuple(item for item in echo if reading.place_of(item, places) is None)

    def after_show(self, items: Sequence[tuple[Place, Native]]) -> tuple[Prepared, ...]:
        """The requests that must follow a ``show`` before anything is seen; mostly none."""
        return self._need_shower().after(_as_told(items))

    def fitting(self, items: Sequence[tuple[Place, Native]]) -> int:
        """How many of the items, from the first, one body within the limit can carry."""
        count = len(items) if self.batch else min(1, len(items))
        while count > 1 and len(self.show(items[:count]).body or b"") > self.limits.body_bytes:
            count -= 1
        return count

    def paint(
        self, place: Place, frame: bytes, before: bytes | None, fade_ms: int = 0
    ) -> tuple[Prepared, ...]:
        """The requests that turn ``before`` (``None``: not known) into ``frame``, in order."""
        frame = calibrated_frame(frame, place.calibration)
        if before is not None:
            before = calibrated_frame(before, place.calibration)
        return self._paint(place, frame, before, fade_ms)

    def identify(self) -> Prepared:
        """The request that asks who it is."""
        if self._identify is None:
            raise LookupError(f"dialect {self.name} has no identify")
        return self._identify.fill(Scope({}))

    def define(self, place: Place) -> Prepared:
        """The request that tells which of its pixels the segment is."""
        if self._define is None:
            raise LookupError(f"dialect {self.name} has no define")
        return self._define.fill(Scope(place_names(self.grammar, place, self._define.names)))

    def master(self) -> Prepared:
        """The request that sets the main switch on and the main brightness to full."""
        if self._master is None:
            raise LookupError(f"dialect {self.name} has no master")
        return self._master.fill(Scope({}))

    def reads_for(
        self, places: Sequence[Place], painted: Collection[str] = ()
    ) -> tuple[tuple[Prepared, tuple[Place, ...]], ...]:
        """The requests of one full read-back, and the places that each tells about.

        ``painted``: the segments that show painted pixels, which some controllers tell elsewhere.
        """
        return self._reads(tuple(places), frozenset(painted))

    def observed(self, body: bytes, places: Sequence[Place]) -> Observation | Misread:
        """What an answer to a read says about the places that it was asked for."""
        if self._reading is None:
            raise LookupError(f"dialect {self.name} has no read")
        seen = self._reading.observed(body, places)
        if self._reading_paint is None or (isinstance(seen, Observation) and seen.seen):
            return seen
        return self._reading_paint.observed(body, places)

    def differences(self, place: Place, look: Look, seen: Mapping[str, object]) -> tuple[str, ...]:
        """The names whose value read back is not what was sent; ``()`` where all agree."""
        if isinstance(look, Moving):  # what moves is another picture by the time it is read
            return ()
        if isinstance(look, Native):
            return self._comparison.native(place, calibrated_native(look, place.calibration), seen)
        told = calibrated(look, place.calibration)
        return self._comparison.still(place, told, seen) if isinstance(told, Still) else ()

    def unfound(self, seen: Mapping[str, object]) -> tuple[str, ...]:
        """The places of ``values`` where the answer has nothing about a segment.

        Painted pixels may be told only while there are some.
        """
        read = self.grammar.read
        return tuple(
            f"{at.text} ({name})"
            for at, name in (() if read is None else read.values)
            if name not in seen and (name != "pixels" or not seen)
        )

    def misplaced(self, place: Place, seen: Mapping[str, object]) -> tuple[str, ...]:
        """The names by which the controller's segment lies elsewhere than ours."""
        return self._comparison.elsewhere(place, seen)

    def decode(self, seen: Mapping[str, object]) -> Decoded:
        """The values read back as colour, level, effect, rate, on, frame, as far as they tell."""
        return decoded(self.grammar, seen, has_white=self._shows_white)

    def answer(self, purpose: Purpose, status: int, body: bytes) -> Answer:
        """Whether a request of that purpose was taken."""
        return judge(self._template(purpose), status, body)

    def identity(self, body: bytes) -> Identity | Misread:
        """Who answered."""
        identify = self.grammar.identify
        if identify is None:
            raise LookupError(f"dialect {self.name} has no identify")
        parsed = parse(body)
        if isinstance(parsed, Misread):
            return parsed
        found = ABSENT if identify.identity is None else identify.identity.find(parsed.document)
        pixels = ABSENT if identify.pixels is None else identify.pixels.find(parsed.document)
        return Identity(None if found is ABSENT else text_form(found), _whole(pixels))

    def _template(self, purpose: Purpose) -> RequestTemplate:
        found = self._templates[purpose]
        if found is None:
            raise LookupError(f"dialect {self.name} has no {purpose}")
        return found

    def _need_shower(self) -> Shower:
        if self._shower is None:
            raise LookupError(f"dialect {self.name} has no show")
        return self._shower

    def _need_painter(self) -> Painter:
        if self._painter is None:
            raise LookupError(f"dialect {self.name} has no paint")
        return self._painter

    def _render_show(self, items: tuple[tuple[Place, Native], ...]) -> Prepared:
        return self._need_shower().fill(items)

    def _render_paint(
        self, place: Place, frame: bytes, before: bytes | None, fade_ms: int
    ) -> tuple[Prepared, ...]:
        return self._need_painter().requests(place, frame, before, fade_ms)

    def _render_reads(
        self, places: tuple[Place, ...], painted: frozenset[str]
    ) -> tuple[tuple[Prepared, tuple[Place, ...]], ...]:
        if self._reading is None:
            return ()
        if self._reading_paint is None:
            return tuple(self._reading.requests(places))
        plain = [place for place in places if place.segment not in painted]
        others = [place for place in places if place.segment in painted]
        return (*self._reading.requests(plain), *self._reading_paint.requests(others))


def _as_told(items: Sequence[tuple[Place, Native]]) -> Sequence[tuple[Place, Native]]:
    return [(place, calibrated_native(look, place.calibration)) for place, look in items]


def _compiled(template: RequestTemplate | None) -> CompiledRequest | None:
    return None if template is None else CompiledRequest(template)


def _templates(grammar: DialectGrammar) -> dict[Purpose, RequestTemplate | None]:
    read, identify, capture = grammar.read, grammar.identify, grammar.capture
    return {
        "show": grammar.show,
        "paint": grammar.paint,
        "read": None if read is None else read.request,
        "identify": None if identify is None else identify.request,
        "define": grammar.define,
        "master": grammar.master,
        "capture": None if capture is None else capture.item.request,
        "restore": grammar.restore,
        "read boot": None if grammar.boot is None else grammar.boot.read.request,
        "write boot": None if grammar.boot is None else grammar.boot.write,
    }


def _whole(found: Json) -> int | None:
    try:
        return int(number_of(found))
    except CodecError:
        return None
