"""What is wrong with a dialect's effects: never told, or not to be told from one another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from bridge.lights.dialect.codecs import same_json, shown
from bridge.lights.dialect.grammar import DialectGrammar, NativeEffect, Told
from bridge.lights.dialect.naming import LIGHT_NAMES, TIME_NAMES, WHITE
from bridge.lights.dialect.readback import told_effects
from bridge.lights.dialect.showing import PLAIN, shown_names
from bridge.lights.dialect.template_problems import PLACES, Problem, template_problems
from bridge.lights.dialect.templates import Path, compile_template
from bridge.scenes.scene import PERIOD_BAND_MS

#: A white that only one effect is told would be missing in the colours of the others.
_ADDED: Final = PLACES | (frozenset(LIGHT_NAMES) - {WHITE}) | frozenset(TIME_NAMES)


def effect_problems(grammar: DialectGrammar) -> Iterator[Problem]:
    """In the order of the file."""
    names = frozenset[str]() if grammar.show is None else shown_names(grammar, grammar.show)
    if "effect" in names and not grammar.effects.get("steady"):
        yield ("effects",), "has no steady, but show writes {effect}; say what steady is called"
    ways = []
    for effect, natives in grammar.effects.items():
        for index, native in enumerate(natives):
            at: Path = ("effects", effect) if len(natives) == 1 else ("effects", effect, index)
            own = list(_way_problems(at, effect, native, names))
            yield from own
            if not own:
                ways.append(_Way(at, effect, native))
    yield from _alike(grammar, names, ways)


def _way_problems(
    at: Path, effect: str, native: NativeEffect, names: frozenset[str]
) -> Iterator[Problem]:
    if effect == "flash":
        yield from _flash_problems(at, native, names)
    elif effect != "steady":
        yield at, f"a controller's own {effect} is not used yet; it is painted instead"
    if native.adds is not None and not isinstance(native.adds, Mapping):
        yield (*at, "adds"), f"{native.adds!r} is no mapping, so it cannot be merged"
    yield from template_problems((*at, "adds"), compile_template(native.adds), _ADDED)


def _flash_problems(at: Path, native: NativeEffect, names: frozenset[str]) -> Iterator[Problem]:
    period_ms = native.period_ms
    bands = ", ".join(f"{rate} {low}–{high} ms" for rate, (low, high) in PERIOD_BAND_MS.items())
    if period_ms is None:
        why = "without one nobody knows whether it is too fast to be safe"
        yield at, f"needs a period: {why}; rates are {bands}"
    elif _rate_of(period_ms) is None:
        yield (*at, "period"), f"{period_ms} ms is none of the two rates: {bands}"
    if native.adds is None:
        if "effect" not in names:
            yield at, "is never told: show writes no {effect}, and it adds nothing"
        elif native.name is None:
            yield at, "has no name, but show writes {effect}; say what it is called"


def _rate_of(period_ms: int | None) -> str | None:
    bands = PERIOD_BAND_MS.items()
    if period_ms is None:
        return None
    return next((rate for rate, (low, high) in bands if low <= period_ms <= high), None)


# Two of them --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Way:
    """One effect of the controller's own, and where it stands."""

    at: Path
    effect: str
    native: NativeEffect

    @property
    def meaning(self) -> tuple[str, str | None]:
        """What it is used for."""
        return self.effect, _rate_of(self.native.period_ms)

    def __str__(self) -> str:
        period_ms = self.native.period_ms
        return self.effect if period_ms is None else f"{self.effect} of {period_ms} ms"


def _alike(grammar: DialectGrammar, names: frozenset[str], ways: list[_Way]) -> Iterator[Problem]:
    """Those that are sent or read back as one before them that means something else."""
    if grammar.show is None:
        return
    if "effect" not in names and not grammar.effects.get("steady"):
        ways = [_Way(("effects",), "steady", PLAIN), *ways]
    for index, way in enumerate(ways):
        others = [other for other in ways[:index] if other.meaning != way.meaning]
        sent = next((other for other in others if _sent_alike(other, way, names)), None)
        if sent is not None:
            yield way.at, f"is told exactly as {sent} is; expected another name, or adds"
            continue
        yield from _read_alike(grammar, way, others)


def _sent_alike(one: _Way, other: _Way, names: frozenset[str]) -> bool:
    named = "effect" not in names or same_json(one.native.name, other.native.name)
    return named and one.native.adds == other.native.adds


def _read_alike(grammar: DialectGrammar, way: _Way, others: list[_Way]) -> Iterator[Problem]:
    read = grammar.read
    by_name = read is not None and any(name == "effect" for _, name in read.values)
    by_place = read is not None and bool(told_effects(grammar))
    if by_name == by_place:  # neither, or both, which is refused where the read is
        return
    native = way.native
    for other in others:
        if by_name and same_json(other.native.name, native.name):
            if native.name is None:
                why = f"has no name, nor has {other}, so a read-back cannot tell them apart"
            else:
                why = f"is read back as {shown(native.name)}, as {other} is"
            yield way.at, f"{why}; expected a name of its own, or told: PLACE"
            return
        if by_place and _told_alike(other.native.told, native.told):
            if native.told is None:
                why = f"is told by nothing when it is read back, nor is {other}"
                yield way.at, f"{why}; expected told: PLACE"
            else:
                expected = "expected another place, or is: VALUE that tells them apart"
                yield (*way.at, "told"), f"is there for {other} too; {expected}"
            return


def _told_alike(one: Told | None, other: Told | None) -> bool:
    """Whether the first of them is found wherever the other is."""
    if one is None or other is None:
        return one is other
    same = one.wanted is None or same_json(one.wanted, other.wanted)
    return one.at.text == other.at.text and same
