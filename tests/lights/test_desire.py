"""From a scene to what a controller can be told, and what is lost on the way."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.facts.values import FactValue, Unknown, Why
from bridge.lights.desire import Chosen, Kept, choose_look, choose_mark, choose_split
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.dialect.grammar import DialectGrammar
from bridge.lights.look import Look, Moving, Native, Still
from bridge.lights.place import Place
from bridge.scenes.frames import frame
from bridge.scenes.parts import Part, mark_frame, split_frame
from bridge.scenes.scene import Scene
from tests.lights.board import EFFECTS, PEGS, PLACES

GREEN = (0, 176, 96)
STEADY = Scene("ready", "well", "steady", GREEN, brightness=0.5)
THIRDS = Scene("not-known", "unknown", "steady", GREEN, brightness=0.5, pattern="every-third")
FLASH = Scene("see-me", "act", "flash", GREEN)
SLOW_FLASH = Scene("feed-me", "act", "flash", GREEN, rate="slow")
THIRDS_FLASH = Scene("look", "act", "flash", GREEN, pattern="every-third")
BAR = Scene("filling", "well", "gauge", GREEN)

PLAIN = Native("steady", GREEN, 0.5)
FULL = Native("steady", GREEN, 1.0)
HOP = Native("flash", GREEN, 1.0, "normal")

ALL = PEGS
NO_PAINT = replace(PEGS, paint=None)
ONLY_PAINT = replace(PEGS, show=None, effects={})
ONLY_FLASH = replace(PEGS, paint=None, effects={"flash": EFFECTS["flash"]})


def painted(scene: Scene, **inputs: FactValue) -> Still:
    """The scene's first frame."""
    return Still(frame(scene, PLACES[0].length, 0, inputs))


def halves(scene: Scene, *periods_ms: int) -> Moving:
    """The scene's two halves in turn, the brighter first; slower, where the link is too slow."""
    brighter = tuple(int(part * scene.brightness + 0.5) for part in scene.colour)
    dimmer = tuple(int(part * scene.brightness * scene.dimmer + 0.5) for part in scene.colour)
    gap = 3 if scene.pattern == "every-third" else 1
    frames = (
        b"".join(bytes(half) if pixel % gap == 0 else bytes(3) for pixel in range(4))
        for half in (brighter, dimmer)
    )
    return Moving(tuple(frames), periods_ms)


CASES: list[tuple[Scene, DialectGrammar, Look | None, Kept]] = [
    (STEADY, ALL, PLAIN, Kept.WHOLE),
    (STEADY, ONLY_PAINT, painted(STEADY), Kept.WHOLE),
    (STEADY, ONLY_FLASH, None, Kept.NOTHING),
    (THIRDS, ALL, painted(THIRDS), Kept.WHOLE),
    (THIRDS, NO_PAINT, PLAIN, Kept.NO_PATTERN),
    (FLASH, ALL, HOP, Kept.WHOLE),
    (FLASH, ONLY_FLASH, HOP, Kept.WHOLE),
    (FLASH, ONLY_PAINT, halves(FLASH, 625, 1250), Kept.WHOLE),
    (THIRDS_FLASH, ALL, halves(THIRDS_FLASH, 625, 1250), Kept.WHOLE),
    (THIRDS_FLASH, ONLY_FLASH, HOP, Kept.NO_PATTERN),
    # No effect of the dialect has the slow rate.
    (SLOW_FLASH, ALL, halves(SLOW_FLASH, 1250, 2500), Kept.WHOLE),
    (SLOW_FLASH, NO_PAINT, FULL, Kept.NO_FLASH),
    (SLOW_FLASH, ONLY_FLASH, None, Kept.NOTHING),
    (BAR, ALL, painted(BAR), Kept.WHOLE),
    (BAR, NO_PAINT, FULL, Kept.NO_GAUGE),
]


@pytest.mark.parametrize(("scene", "grammar", "look", "kept"), CASES)
def test_the_best_that_a_dialect_can_do(
    scene: Scene, grammar: DialectGrammar, look: Look | None, kept: Kept
) -> None:
    """Its own effect where one fits, else painted pixels, else less, and what is lost is said."""
    chosen = choose_look(scene, Dialect(grammar), PLACES[0], {})
    assert (chosen.look, chosen.kept) == (look, kept)


def test_a_gauge_shows_its_input() -> None:
    """And an unknown input looks like no proportion."""
    dialect = Dialect(ALL)

    def look(progress: FactValue) -> Look | None:
        return choose_look(BAR, dialect, PLACES[0], {"progress": progress}).look

    half = look(0.5)
    assert half == Still(bytes(GREEN) * 2 + bytes(6))
    unknown = look(Unknown(Why.NOT_FRESH))
    assert unknown not in [look(number / 100) for number in range(101)]


@pytest.mark.parametrize("scene", [STEADY, THIRDS, BAR])
@pytest.mark.parametrize("grammar", [ALL, ONLY_PAINT])
def test_a_still_look_fades_as_its_scene_says(scene: Scene, grammar: DialectGrammar) -> None:
    """Whether the controller makes it or it is painted."""
    look = choose_look(replace(scene, fade_ms=400), Dialect(grammar), PLACES[0], {}).look
    assert isinstance(look, Native | Still)
    assert look.fade_ms == 400


def test_a_flash_that_cannot_flash_shows_its_brighter_half() -> None:
    """What a person is wanted for must not be overlooked."""
    chosen = choose_look(replace(SLOW_FLASH, dimmer=0.1), Dialect(NO_PAINT), PLACES[0], {})
    assert chosen.look == FULL


#: Two shares of three pixels, and one pixel too few for them.
SIX, FIVE = Place("shelf", 1, 0, 6), Place("shelf", 1, 0, 5)
CALM: list[Part] = [(STEADY, {}), (BAR, {"progress": 0.5})]
LOUD: list[Part] = [(STEADY, {}), (FLASH, {})]

#: Each at its own rate.
BOTH: list[Part] = [(SLOW_FLASH, {}), (FLASH, {})]


def at(parts: list[Part], *instants_ms: int) -> tuple[bytes, ...]:
    """The shares at these instants."""
    return tuple(split_frame(parts, 6, instant_ms) for instant_ms in instants_ms)


SPLITS = [
    (CALM, ALL, SIX, Chosen(Still(split_frame(CALM, 6, 0)), Kept.WHOLE)),
    (CALM, ONLY_PAINT, SIX, Chosen(Still(split_frame(CALM, 6, 0)), Kept.WHOLE)),
    (LOUD, ALL, SIX, Chosen(Moving(at(LOUD, 0, 313), (625, 1250)), Kept.WHOLE)),
    (BOTH, ALL, SIX, Chosen(Moving(at(BOTH, 0, 313, 625, 938), (1250, 2500)), Kept.WHOLE)),
    (CALM, ALL, FIVE, Chosen(None, Kept.NO_SHARES)),
    (CALM, NO_PAINT, SIX, Chosen(None, Kept.NO_SPLIT)),
    (LOUD, NO_PAINT, FIVE, Chosen(None, Kept.NO_SPLIT)),
]


@pytest.mark.parametrize(("parts", "grammar", "place", "chosen"), SPLITS)
def test_shares_are_painted_or_not_shown_at_all(
    parts: list[Part], grammar: DialectGrammar, place: Place, chosen: Chosen
) -> None:
    """No printer is left out for want of pixels; what is lost is said."""
    assert choose_split(parts, Dialect(grammar), place) == chosen


def test_two_rates_side_by_side_keep_their_own() -> None:
    """The slow share changes with every second frame, the other with every one."""
    look = choose_split(BOTH, Dialect(ALL), SIX).look
    assert isinstance(look, Moving)
    slow, normal = [each[:9] for each in look.frames], [each[9:] for each in look.frames]
    assert (slow[0], normal[0]) == (bytes(GREEN) * 3, bytes(GREEN) * 3)
    assert slow[0] == slow[1] != slow[2] == slow[3]
    assert normal[0] == normal[2] != normal[1] == normal[3]


MARKS = [
    (ALL, SIX, Chosen(Still(mark_frame(2, 2, 6)), Kept.WHOLE)),
    (NO_PAINT, SIX, Chosen(None, Kept.NO_MARK)),
    (ALL, FIVE, Chosen(None, Kept.NO_BLOCKS)),
]


@pytest.mark.parametrize(("grammar", "place", "chosen"), MARKS)
def test_a_mark_is_painted_or_there_are_no_turns(
    grammar: DialectGrammar, place: Place, chosen: Chosen
) -> None:
    """Turns that do not tell whose they are would be read as somebody else's."""
    assert choose_mark(2, 2, Dialect(grammar), place) == chosen


SWELL = Scene("quiet", "well", "swell", GREEN)
MARCH = Scene("busy", "well", "march", GREEN, background=(0, 20, 10))


def slowly(*scenes: Scene) -> Moving:
    """Twenty pictures of six seconds, or of twelve."""
    parts: list[Part] = [(scene, {}) for scene in scenes]
    pictures = (
        split_frame(parts, PLACES[0].length * len(scenes), at) for at in range(0, 6000, 300)
    )
    return Moving(tuple(pictures), (6000, 12_000))


@pytest.mark.parametrize("scene", [SWELL, MARCH])
def test_what_moves_slowly_is_painted_or_stands_still(scene: Scene) -> None:
    """What it says is the same."""
    place = PLACES[0]
    assert choose_look(scene, Dialect(ALL), place, {}) == Chosen(slowly(scene), Kept.WHOLE)
    assert choose_look(scene, Dialect(NO_PAINT), place, {}) == Chosen(FULL, Kept.NO_MOTION)
    assert choose_look(scene, Dialect(ONLY_FLASH), place, {}) == Chosen(None, Kept.NOTHING)


def test_two_that_move_slowly_share_a_segment() -> None:
    """They have one period."""
    place = replace(PLACES[0], length=8)
    parts: list[Part] = [(SWELL, {}), (MARCH, {})]
    assert choose_split(parts, Dialect(ALL), place) == Chosen(slowly(SWELL, MARCH), Kept.WHOLE)


def test_beside_a_flash_what_moves_slowly_stands_still() -> None:
    """Its period is another, and it says the same."""
    place = replace(PLACES[0], length=8)
    look = choose_split([(MARCH, {}), (FLASH, {})], Dialect(ALL), place).look
    assert isinstance(look, Moving)
    halves_ = [each[:12] for each in look.frames]
    assert set(halves_) == {frame(MARCH, 4, 0, {})}
    assert len({each[12:] for each in look.frames}) == 2
