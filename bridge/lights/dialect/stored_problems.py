"""What is wrong with define, capture, restore, boot and master of a dialect."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bridge.lights.dialect.capturing import KEPT
from bridge.lights.dialect.grammar import DialectGrammar, RequestTemplate
from bridge.lights.dialect.naming import LIGHT_NAMES
from bridge.lights.dialect.request import CompiledRequest
from bridge.lights.dialect.template_problems import (
    PLACES,
    Problem,
    item_problems,
    template_problems,
    unknown_name,
    white_problems,
)
from bridge.lights.dialect.templates import Path

_LIGHTS: Final = frozenset(LIGHT_NAMES)
_STRETCH: Final = frozenset({"first", "last", "length"})


def stored_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    """In the order of the file."""
    yield from _define_problems(grammar)
    yield from _capture_problems(grammar)
    yield from _boot_problems(grammar)
    if grammar.master is not None:
        yield from _names_problems(("master",), grammar.master, frozenset())


def _define_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    if grammar.define is None:
        return
    yield from _names_problems(("define",), grammar.define, PLACES)
    if CompiledRequest(grammar.define).names.isdisjoint(_STRETCH):
        yield (("define",), "tells nothing; expected {first} with {last} or {length} in it")


def _capture_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    capture, restore = grammar.capture, grammar.restore
    if capture is not None:
        yield from item_problems(("capture",), capture.item)
        if restore is None:
            yield ("capture",), "has no restore, so what it keeps could never be given back"
    if restore is None:
        return
    yield from _names_problems(("restore",), restore, PLACES | {KEPT})
    if KEPT not in CompiledRequest(restore).names:
        yield ("restore",), "gives nothing back; expected {kept} in it"
    if capture is None:
        yield ("restore",), "has no capture, so there is nothing to give back"


def _boot_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    boot = grammar.boot
    if boot is None:
        return
    yield from item_problems(("boot", "read"), boot.read)
    for place, name in boot.read.values:
        if name not in PLACES | _LIGHTS:
            yield ("boot", "read", "values", place.text), unknown_name(name, PLACES | _LIGHTS)
    yield from _names_problems(("boot", "write"), boot.write, PLACES | _LIGHTS)
    names = CompiledRequest(boot.write).names
    yield from white_problems(("boot", "write"), names)
    if names.isdisjoint(_LIGHTS):
        yield ("boot", "write"), "stores no look; expected {colour} and {level}, or their parts"
    read = {name for _, name in boot.read.values}
    if names & _LIGHTS and not names & read & _LIGHTS:
        yield ("boot", "read"), "reads nothing of what is written, so it could never be compared"


def _names_problems(
    at: Path, template: RequestTemplate, known: frozenset[str]
) -> Iterator[Problem]:
    for keys, part in CompiledRequest(template).parts:
        yield from template_problems((*at, *keys), part, known)
        for use in part.uses:
            if use.name == KEPT and KEPT in known and not (use.alone and keys[0] == "body"):
                yield (*at, *keys, *use.at), "{kept} may be a list or an object: let it stand alone"
