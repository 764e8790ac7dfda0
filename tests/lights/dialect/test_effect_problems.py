"""An effect that is never told, or that is another's double, is named at its place."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.effect_problems import effect_problems
from bridge.lights.dialect.grammar import DialectGrammar, NativeEffect, RequestTemplate, Told
from tests.lights.dialect.building import EFFECTS, grammar_of, read_of, values_of

BARE = RequestTemplate("PUT", "/x", body={"c": "{colour}", "l": "{level}"})
NO_EFFECT_READ = read_of(values=values_of({"/c": "colour"}))
STEADY = EFFECTS["steady"]


def flashes(*natives: NativeEffect, **changes: Any) -> DialectGrammar:  # noqa: ANN401
    """A dialect with these flashes beside a steady light."""
    effects = {"steady": changes.pop("steady", STEADY), "flash": natives}
    return grammar_of(effects={key: ways for key, ways in effects.items() if ways}, **changes)


def told(at: str, wanted: Any = None) -> Told:  # noqa: ANN401
    """A place that is there only while the effect is shown."""
    return Told(compile_place(at), wanted)


PROBLEMS: list[tuple[DialectGrammar, tuple[str | int, ...], str]] = [
    (
        grammar_of(effects={"flash": EFFECTS["flash"]}),
        ("effects",),
        "has no steady, but show writes {effect}; say what steady is called",
    ),
    (
        grammar_of(effects=EFFECTS | {"flash": (NativeEffect("beat"),)}),
        ("effects", "flash"),
        "needs a period: without one nobody knows whether it is too fast to be safe; rates",
    ),
    (
        grammar_of(effects=EFFECTS | {"flash": (*EFFECTS["flash"], NativeEffect("fast", 200))}),
        ("effects", "flash", 2, "period"),
        "200 ms is none of the two rates: slow 1250–2500 ms, normal 358–714 ms",
    ),
    (
        grammar_of(effects=EFFECTS | {"gauge": (NativeEffect("bar"),)}),
        ("effects", "gauge"),
        "a controller's own gauge is not used yet; it is painted instead",
    ),
    (
        grammar_of(
            show=BARE,
            effects={"flash": (NativeEffect("beat", 640),)},
        ),
        ("effects", "flash"),
        "is never told: show writes no {effect}, and it adds nothing",
    ),
    (
        grammar_of(effects=EFFECTS | {"flash": (NativeEffect("beat", 640, adds=[1]),)}),
        ("effects", "flash", "adds"),
        "[1] is no mapping, so it cannot be merged",
    ),
    (
        grammar_of(effects=EFFECTS | {"flash": (NativeEffect("b", 640, adds={"x": "{rat}"}),)}),
        ("effects", "flash", "adds", "x"),
        "'rat' is no name that can stand here; expected one of blue,",
    ),
    (
        flashes(NativeEffect(None, 640)),
        ("effects", "flash"),
        "has no name, but show writes {effect}; say what it is called",
    ),
    (
        flashes(NativeEffect("beat", 640, adds={"w": "{white}"})),
        ("effects", "flash", "adds", "w"),
        "'white' is no name that can stand here",
    ),
    # sent as another is
    (
        flashes(NativeEffect("plain", 640)),
        ("effects", "flash"),
        "is told exactly as steady is; expected another name, or adds",
    ),
    (
        flashes(NativeEffect("beat", 640), NativeEffect("beat", 1600), read=None),
        ("effects", "flash", 1),
        "is told exactly as flash of 640 ms is; expected another name, or adds",
    ),
    (
        flashes(
            NativeEffect(None, 640, adds={"x": 1}),
            steady=(NativeEffect(None, adds={"x": 1}),),
            show=BARE,
            read=None,
        ),
        ("effects", "flash"),
        "is told exactly as steady is",
    ),
    # read back by a name
    (
        flashes(NativeEffect("plain", 640, adds={"ms": 640})),
        ("effects", "flash"),
        'is read back as "plain", as steady is; expected a name of its own, or told: PLACE',
    ),
    (
        flashes(NativeEffect(3, 640), NativeEffect(3, 1600, adds={"ms": 1600})),
        ("effects", "flash", 1),
        "is read back as 3, as flash of 640 ms is; expected a name of its own, or told: PLACE",
    ),
    (
        flashes(NativeEffect(None, 640, adds={"ms": 1}), steady=(NativeEffect(None),)),
        ("effects", "flash"),
        "has no name, nor has steady, so a read-back cannot tell them apart;",
    ),
    (
        flashes(NativeEffect(None, 640, adds={"ms": 640}), steady=(), show=BARE),
        ("effects", "flash"),
        "has no name, nor has steady, so a read-back cannot tell them apart;",
    ),
    # read back by a place
    (
        flashes(
            NativeEffect("a", 640, told=told("/a")),
            NativeEffect("b", 1600, told=told("/a")),
            read=NO_EFFECT_READ,
        ),
        ("effects", "flash", 1, "told"),
        "is there for flash of 640 ms too; expected another place, or is: VALUE that tells them",
    ),
    (
        flashes(
            NativeEffect("a", 640, told=told("/a")),
            NativeEffect("b", 1600, told=told("/a", 1600)),
            read=NO_EFFECT_READ,
        ),
        ("effects", "flash", 1, "told"),
        "is there for flash of 640 ms too",
    ),
    (
        flashes(
            NativeEffect("a", 640, told=told("/a")), NativeEffect("b", 1600), read=NO_EFFECT_READ
        ),
        ("effects", "flash", 1),
        "is told by nothing when it is read back, nor is steady; expected told: PLACE",
    ),
]


@pytest.mark.parametrize(("grammar", "path", "sentence"), PROBLEMS)
def test_a_bad_effect_has_its_sentence(
    grammar: DialectGrammar, path: tuple[str | int, ...], sentence: str
) -> None:
    """One mistake, one problem, at the place where it was made."""
    (found,) = effect_problems(grammar)
    assert found[0] == path
    assert found[1].startswith(sentence)
    assert not found[1].endswith(".")


SOUND = [
    # One that is told by the absence of a name, one by a place, beside those that are told.
    flashes(NativeEffect("beat", 640), steady=(NativeEffect(None),)),
    flashes(NativeEffect("a", 640, told=told("/a")), read=NO_EFFECT_READ),
    flashes(
        NativeEffect("a", 640, adds={"ms": 640}, told=told("/ms", 640)),
        NativeEffect("a", 1600, adds={"ms": 1600}, told=told("/ms", 1600)),
        read=NO_EFFECT_READ,
    ),
    # Two that mean the same, of which the better one is used.
    flashes(NativeEffect("a", 640, adds={"n": 1}), NativeEffect("a", 500, adds={"n": 2})),
    # Nothing is read back of the effect, and what is added tells them apart.
    flashes(NativeEffect("plain", 640, adds={"ms": 640}), read=NO_EFFECT_READ),
    flashes(
        NativeEffect(None, 640, adds={"ms": 640}),
        NativeEffect(None, 1600, adds={"ms": 1600}),
        steady=(),
        show=BARE,
        read=NO_EFFECT_READ,
    ),
    # True is not 1.
    flashes(NativeEffect(name=True, period_ms=640), steady=(NativeEffect(1),)),
    grammar_of(show=None, effects={}),
]


@pytest.mark.parametrize("grammar", SOUND)
def test_effects_that_can_be_told_apart_are_left_alone(grammar: DialectGrammar) -> None:
    """Wherever a controller tells them, and where nobody asks it."""
    assert list(effect_problems(grammar)) == []
