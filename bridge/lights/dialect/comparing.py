"""Comparing what was read back with what was sent."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Final

from bridge.lights.dialect.codecs import (
    CodecError,
    Json,
    decode_colour,
    decode_frame,
    decode_scale,
    part_of_scale,
    parts_of_colour,
    same_json,
)
from bridge.lights.dialect.decoding import SCALES, known
from bridge.lights.dialect.grammar import DialectGrammar, ReadTemplate
from bridge.lights.dialect.naming import (
    LIGHT_NAMES,
    Light,
    light_names,
    painted_light,
    place_names,
)
from bridge.lights.dialect.painting import Painter
from bridge.lights.dialect.readback import told_effects, told_form
from bridge.lights.dialect.showing import Shower
from bridge.lights.dialect.templates import text_form
from bridge.lights.look import Native, Still
from bridge.lights.place import Place
from bridge.scenes.scene import BLACK

#: A tolerance is meant decimally; binary fractions may lie a little beyond it.
_NOISE: Final = 1e-9
#: What tells that a look is dark, whatever else stands beside it.
_DARK_NAMES: Final = frozenset({"on", "level"})
#: What a dark look may have any of.
_NOT_DARK: Final = frozenset({"hue", "saturation", "effect"})
_LOOKS_KEPT: Final = 1024


class Comparison:
    """What was sent, name by name, against what an answer says."""

    def __init__(
        self, grammar: DialectGrammar, shower: Shower | None, painter: Painter | None
    ) -> None:
        self._grammar: Final = grammar
        self._shower: Final = shower
        self._painter: Final = painter
        self._told: Final = bool(told_effects(grammar))
        self._sent = lru_cache(_LOOKS_KEPT)(self._sent_names)

    def native(self, place: Place, look: Native, seen: Mapping[str, object]) -> tuple[str, ...]:
        """The names by which an effect of the controller's own differs."""
        read = self._grammar.read
        if read is None or self._shower is None:
            return ()
        light, sent = self._sent(look)
        unlike = [
            name
            for _, name in read.values
            if name in sent and not self._name_agrees(name, light, sent, seen)
        ]
        native = self._shower.can(look.effect, look.rate)
        if self._told and look.lit and native is not None:
            # One that is not told itself is there while none of the others is.
            wanted = None if native.told is None else told_form(look.effect, native)
            if seen.get("effect") != wanted:
                unlike.append("effect")
        return (*unlike, *self._elsewhere(read, place, seen), *_must_unlike(read, seen))

    def still(self, place: Place, look: Still, seen: Mapping[str, object]) -> tuple[str, ...]:
        """The names by which painted pixels differ."""
        read = self._grammar.read_paint or self._grammar.read
        if read is None or self._painter is None:
            return ()
        light = painted_light((255, 255, 255) if any(look.frame) else BLACK)
        sent = light_names(self._grammar, light, _DARK_NAMES & self._painter.request.names)
        unlike = [
            name
            for _, name in read.values
            if (name in sent and not self._as_sent(name, sent, seen))
            or (name == "pixels" and not frame_agrees(self._grammar, look.frame, seen))
        ]
        return (*unlike, *self._elsewhere(read, place, seen), *_must_unlike(read, seen))

    def _sent_names(self, look: Native) -> tuple[Light, Mapping[str, Json]]:
        if self._shower is None:
            raise LookupError(f"dialect {self._grammar.name} has no show")
        light = self._shower.light(look)
        return light, light_names(self._grammar, light, LIGHT_NAMES)

    def elsewhere(self, place: Place, seen: Mapping[str, object]) -> tuple[str, ...]:
        """The names by which the controller's segment lies elsewhere than ours."""
        read = self._grammar.read
        return () if read is None else tuple(self._elsewhere(read, place, seen))

    def _elsewhere(
        self, read: ReadTemplate, place: Place, seen: Mapping[str, object]
    ) -> Iterator[str]:
        """The names by which the controller's segment lies elsewhere than ours."""
        names = place_names(self._grammar, place, (name for _, name in read.values))
        return (
            name
            for name, sent in names.items()
            if name not in seen or text_form(seen[name]) != text_form(sent)
        )

    def _name_agrees(
        self, name: str, light: Light, sent: Mapping[str, Json], seen: Mapping[str, object]
    ) -> bool:
        if not light.lit:
            return self._dark_agrees(name, sent, seen)
        if name == "hue" and light.hsv[1] == 0:  # a grey has no hue
            return True
        return self._as_sent(name, sent, seen)

    def _dark_agrees(self, name: str, sent: Mapping[str, Json], seen: Mapping[str, object]) -> bool:
        """Of a dark look only what makes it dark is compared; a board may forget the rest."""
        if name in _NOT_DARK:
            return True
        if name in _DARK_NAMES:
            # Where no on-flag is written, a board at level nought is dark whatever its flag says.
            written = self._shower is not None and self._shower.writes(name)
            return not written or self._as_sent(name, sent, seen)
        return (
            name not in seen
            or is_dark(self._grammar, name, seen[name])
            or self._as_sent(name, sent, seen)
        )

    def _as_sent(self, name: str, sent: Mapping[str, Json], seen: Mapping[str, object]) -> bool:
        tolerance = 0.0 if self._grammar.read is None else self._grammar.read.tolerance
        return name in seen and agrees(self._grammar, name, sent[name], seen[name], tolerance)


def agrees(grammar: DialectGrammar, name: str, sent: Json, seen: Json, tolerance: float) -> bool:
    """Whether a value read back is the one that was sent, to within ``tolerance`` of its unit."""
    try:
        if name == "colour":
            pairs = zip(
                parts_of_colour(grammar.colour, sent),
                parts_of_colour(grammar.colour, seen),
                strict=True,
            )
            return all(abs(one - other) <= tolerance + _NOISE for one, other in pairs)
        if name in SCALES:
            return _distance(grammar, name, sent, seen) <= tolerance + _NOISE
    except CodecError:
        return False
    return same_json(sent, seen)


def _distance(grammar: DialectGrammar, name: str, sent: Json, seen: Json) -> float:
    codec = SCALES[name](grammar)
    apart = abs(part_of_scale(codec, sent) - part_of_scale(codec, seen))
    # A whole turn is no turn.
    return min(apart, abs(abs(codec.high - codec.low) - apart)) if name == "hue" else apart


def frame_agrees(grammar: DialectGrammar, frame: bytes, seen: Mapping[str, object]) -> bool:
    """Whether painted pixels read back as the frame that was sent."""
    if "pixels" not in seen:
        return False
    colour = grammar.pixel_colour or grammar.colour
    return known(lambda: decode_frame(grammar.frame, colour, seen["pixels"])) == frame


def is_dark(grammar: DialectGrammar, name: str, seen: Json) -> bool:
    """Whether a colour, a channel or a value read back is black."""
    if name == "colour":
        return known(lambda: decode_colour(grammar.colour, seen)) == BLACK
    return known(lambda: decode_scale(SCALES[name](grammar), seen)) == 0.0


def _must_unlike(read: ReadTemplate, seen: Mapping[str, object]) -> Iterator[str]:
    return (
        check.at.text for check in read.must if not same_json(seen.get(check.at.text), check.wanted)
    )
