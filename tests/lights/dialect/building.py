"""A dialect that the tests change one thing of."""

from __future__ import annotations

from typing import Any

from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import (
    DialectGrammar,
    IdentifyTemplate,
    Limits,
    NativeEffect,
    ReadTemplate,
    ReplyCheck,
    RequestTemplate,
    Restart,
)
from bridge.lights.place import Place

WALL = Place("wall", 1, 0, 12)
RACK = Place("rack", 2, 12, 6)

EFFECTS = {
    "steady": (NativeEffect("plain"),),
    "flash": (NativeEffect("beat", 640), NativeEffect("toll", 1600)),
}
SHOW = RequestTemplate(
    "PUT",
    "/bars/{number}",
    body={"paint": "{colour}", "drive": "{level}", "motion": "{effect}"},
    reply=ReplyCheck(compile_place("/done"), wanted=True),
)
PAINT = RequestTemplate(
    "PUT", "/cells", body={"from": "{first}", "cells": {"each": "pixel", "put": "{colour}"}}
)
RANGES = RequestTemplate(
    "PUT",
    "/strokes",
    body={"strokes": {"each": "range", "put": ["{first}", "{length}", "{colour}"]}},
)
IDENTIFY = IdentifyTemplate(
    RequestTemplate("GET", "/who"), compile_place("/name"), compile_place("/count")
)


def read_of(**changes: Any) -> ReadTemplate:  # noqa: ANN401 - any field
    """A read of a list, with changes."""
    fields: dict[str, Any] = {
        "request": RequestTemplate("GET", "/bars"),
        "every_ms": 15_000,
        "values": values_of({"/paint": "colour", "/drive": "level", "/motion": "effect"}),
        "each": compile_place("/list"),
        "match": ((compile_place("/bar"), "{number}"),),
        "restart": Restart(compile_place("/awake"), "uptime"),
    }
    return ReadTemplate(**(fields | changes))


def values_of(places: dict[str, str]) -> tuple[tuple[Any, str], ...]:
    """The values of a read, from places and names."""
    return tuple((compile_place(place), name) for place, name in places.items())


def grammar_of(**changes: Any) -> DialectGrammar:  # noqa: ANN401 - any field
    """A whole dialect, with changes."""
    fields: dict[str, Any] = {
        "name": "bars",
        "limits": Limits(),
        "show": SHOW,
        "effects": EFFECTS,
        "paint": PAINT,
        "read": read_of(),
        "identify": IDENTIFY,
    }
    return DialectGrammar(**(fields | changes))
