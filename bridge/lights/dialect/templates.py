"""Templates: JSON data with ``{names}``, compiled once to closures that fill it in.

A text that is one placeholder takes the value's own type; in any other text the value's text form
is put in. ``{{`` and ``}}`` are braces. A mapping with ``each`` repeats what it holds.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias, get_args

from bridge.lights.dialect.codecs import Json
from bridge.scenes.scene import Colour

Each: TypeAlias = Literal["segment", "range", "pixel"]
Render: TypeAlias = Callable[["Scope"], Json]
#: From the template's root to a node: keys and indices.
Path: TypeAlias = tuple[str | int, ...]

EACH_KEYS: Final = ("each", "put", "joined", "into", "most")
#: How a text begins in which somebody wrote data as JSON.
_JSON_TEXT: Final = re.compile(r"""\s*(\{\s*"|\[\s*[\["{])""")
_PIECES: Final = re.compile(r"\{\{|\}\}|\{([^{}]*)\}|[{}]")


@dataclass(frozen=True, slots=True)
class Pixels:
    """A painted frame for ``each: pixel``; ``names`` makes a pixel's of its number and colour."""

    first: int
    frame: bytes
    names: Callable[[int, Colour], Mapping[str, Json]]

    def pieces(self, put: Render, *, numbered: bool) -> list[Json]:
        """``put`` for every pixel, made once a colour where no pixel's number is written."""
        frame = self.frame
        colours = list(zip(frame[0::3], frame[1::3], frame[2::3], strict=True))
        if numbered:
            return [
                put(Scope(self.names(number, colour)))
                for number, colour in enumerate(colours, self.first)
            ]
        made = {
            colour: put(Scope(self.names(self.first, colour))) for colour in dict.fromkeys(colours)
        }
        return [made[colour] for colour in colours]


@dataclass(frozen=True, slots=True)
class Scope:
    """What a template is filled with: its names, and what each kind of repetition runs over.

    ``put`` is what ``each: segment`` repeats for this segment, where its effect adds to it.
    """

    names: Mapping[str, Json]
    segments: Sequence[Scope] = ()
    ranges: Sequence[Scope] = ()
    pixels: Pixels | None = None
    put: Render | None = None


@dataclass(frozen=True, slots=True)
class Use:
    """One placeholder: where it stands, its name, the repetitions round it, and whether alone."""

    at: Path
    name: str
    inside: tuple[Each, ...]
    alone: bool


@dataclass(frozen=True, slots=True)
class Repeat:
    """One ``each``: where it stands, the repetitions round it, and how often it may repeat."""

    at: Path
    each: Each
    inside: tuple[Each, ...]
    most: int | None


@dataclass(slots=True)
class _Notes:
    """What compiling found, beside the closure."""

    uses: list[Use] = field(default_factory=list)
    repeats: list[Repeat] = field(default_factory=list)
    faults: list[tuple[Path, str]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Compiled:
    """A template ready to be filled in; ``faults`` are its own, whatever the names mean."""

    render: Render
    uses: tuple[Use, ...]
    repeats: tuple[Repeat, ...]
    faults: tuple[tuple[Path, str], ...]

    @property
    def names(self) -> frozenset[str]:
        """Every name it uses."""
        return frozenset(use.name for use in self.uses)

    def repeats_each(self, each: Each) -> bool:
        """Whether it repeats that."""
        return any(repeat.each == each for repeat in self.repeats)


def compile_template(template: Json) -> Compiled:
    """The template as a closure; never raises, what is wrong is in ``faults``."""
    notes = _Notes()
    render = _node(template, (), (), notes)
    return Compiled(render, tuple(notes.uses), tuple(notes.repeats), tuple(notes.faults))


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a text: a literal, or the name of a placeholder."""

    text: str
    is_name: bool


def text_parts(template: str) -> tuple[list[Part], list[str]]:
    """A text split at its placeholders, and what is wrong with it."""
    parts: list[Part] = []
    faults: list[str] = []
    end = 0
    for found in _PIECES.finditer(template):
        if found.start() > end:
            parts.append(Part(template[end : found.start()], is_name=False))
        end = found.end()
        name = found.group(1)
        if name and not ('"' in name and _JSON_TEXT.match(template)):
            parts.append(Part(name, is_name=True))
        elif found.group() in {"{{", "}}"}:
            parts.append(Part(found.group()[0], is_name=False))
        elif not faults:  # one mistake often leaves several of them
            faults.append(_lone_brace(template, found.start()))
    if end < len(template):
        parts.append(Part(template[end:], is_name=False))
    return parts, faults


def _lone_brace(template: str, start: int) -> str:
    if _JSON_TEXT.match(template):
        return f"'{template}' is JSON in a text; write the data itself, only its texts in quotes"
    return (
        f"'{template}' has a lone brace at character {start + 1};"
        " a placeholder is written {name}, a brace of your own twice"
    )


def text_form(value: Json) -> str:
    """How a value stands inside a text: as JSON writes it, without quotes."""
    if isinstance(value, str):
        return value
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def merged(template: Json, adds: Json) -> Json:
    """RFC 7396: ``adds`` merged into the template; ``null`` takes a key away."""
    if not isinstance(adds, Mapping):
        return adds
    result = dict(template) if isinstance(template, Mapping) else {}
    for key, value in adds.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = merged(result.get(key), value)
    return result


def _node(template: Json, at: Path, inside: tuple[Each, ...], notes: _Notes) -> Render:
    if isinstance(template, str):
        return _text(template, at, inside, notes)
    if isinstance(template, Mapping):
        node = _each if "each" in template else _object
        return node(template, at, inside, notes)
    if isinstance(template, Sequence):
        return _list(template, at, inside, notes)
    if isinstance(template, float) and not math.isfinite(template):
        notes.faults.append((at, f"{template} is no number of JSON"))
    elif template is not None and not isinstance(template, bool | int | float):
        notes.faults.append((at, f"{template!r} is not JSON; expected a text, a number, a list …"))
    return lambda _: template


def _text(template: str, at: Path, inside: tuple[Each, ...], notes: _Notes) -> Render:
    parts, faults = text_parts(template)
    notes.faults.extend((at, fault) for fault in faults)
    names = [part.text for part in parts if part.is_name]
    alone = len(parts) == 1
    notes.uses.extend(Use(at, name, inside, alone) for name in names)
    if not names:
        literal = "".join(part.text for part in parts)
        return lambda _: literal
    if alone:
        name = names[0]
        return lambda scope: scope.names[name]
    return lambda scope: "".join(
        text_form(scope.names[part.text]) if part.is_name else part.text for part in parts
    )


def _object(
    template: Mapping[str, Json], at: Path, inside: tuple[Each, ...], notes: _Notes
) -> Render:
    before = len(notes.uses) + len(notes.repeats)
    members = [
        (_key(key, (*at, key), inside, notes), _node(value, (*at, key), inside, notes))
        for key, value in template.items()
    ]
    if len(notes.uses) + len(notes.repeats) == before:
        return lambda _: template
    return lambda scope: {text_form(key(scope)): value(scope) for key, value in members}


def _key(key: Json, at: Path, inside: tuple[Each, ...], notes: _Notes) -> Render:
    if isinstance(key, str):
        return _text(key, at, inside, notes)
    notes.faults.append((at, f"the key {key!r} is not a text; put it in quotes"))
    return lambda _: ""


def _list(template: Sequence[Json], at: Path, inside: tuple[Each, ...], notes: _Notes) -> Render:
    before = len(notes.uses) + len(notes.repeats)
    elements = [_node(value, (*at, index), inside, notes) for index, value in enumerate(template)]
    if len(notes.uses) + len(notes.repeats) == before:
        constant = list(template)
        return lambda _: constant
    return lambda scope: [element(scope) for element in elements]


def _each(
    template: Mapping[str, Json], at: Path, inside: tuple[Each, ...], notes: _Notes
) -> Render:
    each = template["each"]
    for fault in _each_faults(template, inside):
        notes.faults.append((at, fault))
    notes.repeats.append(Repeat(at, each, inside, template.get("most")))
    uses = len(notes.uses)
    put = _node(template.get("put"), (*at, "put"), (*inside, each), notes)
    numbered = any(use.name == "pixel" for use in notes.uses[uses:])
    gather = _gatherer(template)

    def pieces(scope: Scope) -> list[Json]:
        if each == "segment":
            return [(one.put or put)(one) for one in scope.segments]
        if each == "range":
            return [put(one) for one in scope.ranges]
        return scope.pixels.pieces(put, numbered=numbered) if scope.pixels else []

    return lambda scope: gather(pieces(scope))


def _gatherer(template: Mapping[str, Json]) -> Callable[[list[Json]], Json]:
    """How the pieces become one value: a list, a text, one object, or one flat list."""
    if "joined" in template:
        joint = str(template["joined"])
        return lambda pieces: joint.join(text_form(piece) for piece in pieces)
    into = template.get("into", "list")
    if into == "object":
        return lambda pieces: {key: value for piece in pieces for key, value in piece.items()}
    if into == "flat":
        return lambda pieces: [element for piece in pieces for element in piece]
    return lambda pieces: pieces


def _each_faults(template: Mapping[str, Json], inside: tuple[Each, ...]) -> Iterator[str]:
    each, put, into = template["each"], template.get("put"), template.get("into", "list")
    most = template.get("most", 1)
    if each not in get_args(Each):
        yield f"each: {each!r} is none of segment, range, pixel"
    elif each in inside or (inside and each == "segment"):
        yield f"each: {each} cannot stand inside each: {inside[-1]}"
    if "put" not in template:
        yield "each has nothing to repeat; expected put: TEMPLATE beside it"
    for key in template:
        if key not in EACH_KEYS:
            yield f"'{key}' cannot stand beside each; known are {', '.join(EACH_KEYS)}"
    if isinstance(most, bool) or not isinstance(most, int) or most < 1:
        yield f"most: {most!r} is no number of parts; expected a whole number from 1"
    if into not in {"list", "object", "flat"}:
        yield f"into: {into!r} is none of list, object, flat"
    elif "joined" in template and into != "list":
        yield "joined makes a text, so into cannot stand beside it"
    elif into == "object" and not isinstance(put, Mapping):
        yield "into: object wants put to be a mapping"
    elif into == "flat" and not isinstance(put, list | tuple | str):
        yield "into: flat wants put to be a list"
