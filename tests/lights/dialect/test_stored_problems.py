"""Each mistake in what a dialect stores and gives back is named once, at its place in the file."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import (
    BootTemplate,
    CaptureTemplate,
    DialectGrammar,
    RequestTemplate,
)
from bridge.lights.dialect.stored_problems import stored_problems
from tests.lights.dialect.building import grammar_of, read_of, values_of

DEFINE = RequestTemplate("PUT", "/bars/{number}/where", body={"at": "{first}", "n": "{length}"})
CAPTURE = CaptureTemplate(read_of(values=()), compile_place("/look"))
RESTORE = RequestTemplate("PUT", "/bars/{number}", body={"look": "{kept}"})
MASTER = RequestTemplate("PUT", "/main", body={"awake": True})
BOOT_READ = read_of(values=values_of({"/paint": "colour", "/drive": "level"}))
BOOT_WRITE = RequestTemplate("PUT", "/wake", body={"paint": "{colour}", "drive": "{level}"})


def request(body: Any) -> RequestTemplate:  # noqa: ANN401 - what JSON holds
    """A request with that body."""
    return RequestTemplate("PUT", "/x", body=body)


def test_what_is_right_has_none() -> None:
    """All five at once."""
    grammar = grammar_of(
        define=DEFINE,
        capture=CAPTURE,
        restore=RESTORE,
        master=MASTER,
        boot=BootTemplate(BOOT_READ, BOOT_WRITE),
    )
    assert list(stored_problems(grammar)) == []


PROBLEMS: list[tuple[DialectGrammar, tuple[str | int, ...], str]] = [
    (
        grammar_of(define=request({"n": "{number}"})),
        ("define",),
        "tells nothing; expected {first} with {last} or {length} in it",
    ),
    (
        grammar_of(define=request({"at": "{first}", "c": "{colour}"})),
        ("define", "body", "c"),
        "'colour' is no name that can stand here",
    ),
    (
        grammar_of(boot=BootTemplate(BOOT_READ, request(["{colour}", "{level}", "{white}"]))),
        ("boot", "write"),
        "has {white} without {red}, {green} and {blue}; expected all four, and no {colour}",
    ),
    (
        grammar_of(capture=CAPTURE),
        ("capture",),
        "has no restore, so what it keeps could never be given back",
    ),
    (
        grammar_of(restore=RESTORE),
        ("restore",),
        "has no capture, so there is nothing to give back",
    ),
    (
        grammar_of(capture=CAPTURE, restore=request({"look": "{keep}"})),
        ("restore", "body", "look"),
        "'keep' is no name that can stand here; did you mean 'kept'?",
    ),
    (
        grammar_of(capture=CAPTURE, restore=request({"look": "was {kept}"})),
        ("restore", "body", "look"),
        "{kept} may be a list or an object: let it stand alone",
    ),
    (
        grammar_of(master=request({"all": "{number}"})),
        ("master", "body", "all"),
        "'number' cannot stand here; this request is about no segment",
    ),
    (
        grammar_of(boot=BootTemplate(BOOT_READ, request({"n": "{number}"}))),
        ("boot", "write"),
        "stores no look; expected {colour} and {level}, or their parts",
    ),
    (
        grammar_of(boot=BootTemplate(read_of(values=values_of({"/on": "on"})), BOOT_WRITE)),
        ("boot", "read"),
        "reads nothing of what is written, so it could never be compared",
    ),
    (
        grammar_of(boot=BootTemplate(read_of(values=values_of({"/on": "color"})), BOOT_WRITE)),
        ("boot", "read", "values", "/on"),
        "'color' is no name that can stand here; did you mean 'colour'?",
    ),
]


@pytest.mark.parametrize(("grammar", "path", "sentence"), PROBLEMS)
def test_a_mistake_is_named(
    grammar: DialectGrammar, path: tuple[str | int, ...], sentence: str
) -> None:
    """At its place, with what was expected."""
    found = dict(stored_problems(grammar))
    assert path in found
    assert found[path].startswith(sentence)
