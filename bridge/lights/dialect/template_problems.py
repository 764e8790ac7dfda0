"""What is wrong with a template, whatever it is for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from typing import Final, TypeAlias

from bridge.lights.dialect.grammar import ReadTemplate
from bridge.lights.dialect.naming import PLACE_NAMES, WHITE
from bridge.lights.dialect.request import CompiledRequest
from bridge.lights.dialect.templates import Compiled, Path, compile_template

#: A path of keys and indices in the file, and what is wrong there.
Problem: TypeAlias = tuple[Path, str]

#: What tells where a segment is.
PLACES: Final = frozenset(PLACE_NAMES)
#: The colour in parts.
RGB: Final = frozenset({"red", "green", "blue"})
HSV: Final = frozenset({"hue", "saturation", "value"})


def template_problems(at: Path, part: Compiled, known: frozenset[str]) -> Iterator[Problem]:
    """Its own faults, and names that cannot stand there."""
    for where, sentence in part.faults:
        yield (*at, *where), sentence
    for use in part.uses:
        if use.name not in known:
            yield (*at, *use.at), unknown_name(use.name, known)


def white_problems(at: Path, names: frozenset[str]) -> Iterator[Problem]:
    """White is a part of the colour, and the other parts have to be without it."""
    if WHITE not in names:
        return
    if not names >= RGB:
        yield (
            at,
            "has {white} without {red}, {green} and {blue}; expected all four, and no {colour}",
        )
    elif names & (HSV | {"colour"}):
        twice = ", ".join(f"{{{name}}}" for name in sorted(names & (HSV | {"colour"})))
        why = f"has the white twice: as {{white}} and in {twice}"
        yield at, f"{why}; expected {{red}}, {{green}} and {{blue}} only"


def unknown_name(name: str, known: Iterable[str]) -> str:
    """What is said of a name that cannot stand there."""
    sorted_names = sorted(known)
    if not sorted_names:
        return f"'{name}' cannot stand here; this request is about no segment"
    near = get_close_matches(name, sorted_names, n=1)
    hint = f"did you mean '{near[0]}'?" if near else f"expected one of {', '.join(sorted_names)}"
    return f"'{name}' is no name that can stand here; {hint}"


def item_problems(at: Path, read: ReadTemplate) -> Iterator[Problem]:
    """What an answer about several segments can have wrong, and the request for it."""
    for keys, part in CompiledRequest(read.request).parts:
        yield from template_problems((*at, *keys), part, PLACES)
    for place, wanted in read.match:
        yield from template_problems((*at, "match", place.text), compile_template(wanted), PLACES)
    yield from template_problems((*at, "keyed", "key"), compile_template(read.keyed), PLACES)
    if read.each is not None and not read.match:
        yield (
            (*at, "list"),
            "has no match, so no item is anybody's; say which place names a segment",
        )
    if read.each is None and read.match:
        yield (*at, "match"), "is for the items of a list; expected list: PLACE beside it"
    if read.each is not None and read.keyed is not None:
        yield (*at, "keyed"), "cannot stand beside list"
