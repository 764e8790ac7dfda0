"""A native look is shown by the effect that fits it, with what that effect adds."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from bridge.facts.places import compile_place
from bridge.lights.dialect.grammar import NativeEffect, RequestTemplate, TimeCodec
from bridge.lights.dialect.readback import Reading
from bridge.lights.dialect.showing import Shower, shown_names, usable, with_adds
from bridge.lights.look import Native
from bridge.lights.place import Place
from bridge.scenes.scene import Rate
from tests.lights.dialect.building import EFFECTS, RACK, SHOW, WALL, grammar_of, read_of

RED = Native("steady", (255, 0, 0), 1.0)
BEAT = Native("flash", (255, 0, 0), 1.0)
EACH = RequestTemplate(
    "PUT", "/", body={"all": {"each": "segment", "put": {"n": "{number}", "c": "{colour}"}}}
)


def shower(template: RequestTemplate = SHOW, **changes: Any) -> Shower:  # noqa: ANN401
    """The shower of a template."""
    return Shower(grammar_of(show=template, **changes), template)


def body(made: Shower, *items: tuple[Place, Native]) -> Any:  # noqa: ANN401
    """What is sent, as a value."""
    sent = made.fill(items).body
    return None if sent is None else json.loads(sent)


FLASHES: list[tuple[tuple[int | None, ...], Rate, int | None]] = [
    ((640, 1600), "normal", 0),
    ((640, 1600), "slow", 1),
    ((500, 640), "normal", 1),  # nearest to the rate's own 625
    ((358, 714), "normal", 1),
    ((358,), "normal", 0),
    ((357,), "normal", None),
    ((714,), "normal", 0),
    ((715,), "normal", None),
    ((1249,), "slow", None),
    ((1250,), "slow", 0),
    ((2500,), "slow", 0),
    ((2501,), "slow", None),
    ((None,), "normal", None),
    ((), "normal", None),
]


@pytest.mark.parametrize(("periods", "rate", "index"), FLASHES)
def test_a_flash_is_one_whose_period_is_in_the_band(
    periods: tuple[int | None, ...], rate: Rate, index: int | None
) -> None:
    """The ends of the band count as in it; a flash of unknown period is never used."""
    natives = tuple(NativeEffect(str(each), each) for each in periods)
    found = usable(grammar_of(effects={"flash": natives}), frozenset(), "flash", rate)
    assert found == (None if index is None else natives[index])


def test_steady_needs_a_word_only_where_one_is_written() -> None:
    """A dialect that writes no effect shows steady light as it is."""
    bare = RequestTemplate("PUT", "/", body={"c": "{colour}", "l": "{level}"})
    assert shower(bare, effects={}).can("steady", "normal") is not None
    assert shower(effects={}).can("steady", "normal") is None


def test_a_gauge_is_never_the_controllers_own() -> None:
    """A native look carries no proportion."""
    assert (
        shower(effects=EFFECTS | {"gauge": (NativeEffect("bar"),)}).can("gauge", "normal") is None
    )


def test_an_effect_adds_its_members() -> None:
    """They are merged into the body, and null takes one away."""
    effects = EFFECTS | {"flash": (NativeEffect("beat", 640, adds={"ms": 640, "drive": None}),)}
    made = shower(effects=effects)
    assert body(made, (WALL, BEAT)) == {"paint": "ff0000", "motion": "beat", "ms": 640}
    assert body(made, (WALL, RED)) == {"paint": "ff0000", "drive": 255, "motion": "plain"}


def test_an_effect_adds_to_the_query_where_there_is_no_body() -> None:
    """A controller that takes everything in its query gets the addition there."""
    template = RequestTemplate("GET", "/x", query={"c": "{colour}"})
    assert with_adds(template, {"ms": 640}).query == {"c": "{colour}", "ms": 640}


def test_segments_go_together_each_with_its_own_addition() -> None:
    """In one request the flashing segment has the extra member, the steady one has not."""
    effects = EFFECTS | {"flash": (NativeEffect("beat", 640, adds={"ms": 640}),)}
    made = shower(EACH, effects=effects)
    assert made.batch
    assert body(made, (WALL, RED), (RACK, BEAT)) == {
        "all": [{"n": 1, "c": "ff0000"}, {"n": 2, "c": "ff0000", "ms": 640}]
    }


def test_what_is_not_ours_is_sent_as_it_was_read() -> None:
    """Where everything must be sent, the list last read is sent with our segments in it."""
    made = shower(EACH)
    reading = Reading(grammar_of(), read_of(match=((compile_place("/n"), "{number}"),)))
    echo = [{"n": 7, "c": "any", "own": [1]}, {"n": 2, "c": "000000"}, {"n": 1, "c": "000000"}]
    sent = made.fill_echoing([(RACK, RED)], echo, reading).body
    assert sent is not None
    assert json.loads(sent) == {"all": [echo[0], {"n": 2, "c": "ff0000"}, echo[2]]}


def test_what_the_list_does_not_have_is_added() -> None:
    """A segment that somebody took out of the list is shown again."""
    made = shower(EACH)
    reading = Reading(grammar_of(), read_of(match=((compile_place("/n"), "{number}"),)))
    sent = made.fill_echoing([(WALL, RED), (RACK, RED)], [{"n": 2}, {"n": 7}], reading).body
    assert sent is not None
    assert json.loads(sent) == {"all": [{"n": 2, "c": "ff0000"}, {"n": 7}, {"n": 1, "c": "ff0000"}]}


def test_a_request_can_follow() -> None:
    """One for each place, or one for all where it names none."""
    template = RequestTemplate(
        "PUT", "/{number}", body="{colour}", then=RequestTemplate("POST", "/up")
    )
    made = shower(template)
    assert [each.path for each in made.after([(WALL, RED), (RACK, RED)])] == ["/up"]
    assert shower().after([(WALL, RED)]) == ()


def test_names_of_every_effect_and_follower_count() -> None:
    """The level has a place if any effect's request has one."""
    effects = {"flash": (NativeEffect("beat", 640, adds={"l": "{level}"}),)}
    template = RequestTemplate(
        "PUT", "/{number}", body="{colour}", then=RequestTemplate("GET", "/{first}")
    )
    assert shown_names(grammar_of(effects=effects), template) == {
        "number",
        "colour",
        "level",
        "first",
    }


@pytest.mark.parametrize(("template", "folded"), [(SHOW, False), (EACH, True)])
def test_the_level_is_folded_where_it_has_no_place(template: RequestTemplate, folded: bool) -> None:
    """It is decided by the names that the request uses."""
    made = shower(template)
    assert made.folded is folded
    assert made.light(Native("steady", (200, 0, 0), 0.5)).drive == (0.5 if folded else 1.0)
    assert made.writes("level") is not folded


def test_a_look_is_told_how_it_comes_and_how_long_it_stays() -> None:
    """In the units that the controller counts in."""
    body = {"paint": "{colour}", "drive": "{level}", "ease": "{fade}", "stay": "{lasts}"}
    grammar = grammar_of(
        show=RequestTemplate("PUT", "/bars/{number}", body=body),
        fade=TimeCodec(100),
        lasts_ms=90_000,
        effects={},
    )
    shower = Shower(grammar, grammar.show)  # type: ignore[arg-type]
    request = shower.fill([(WALL, Native("steady", (255, 0, 0), 1.0, fade_ms=400))])
    told = json.loads(request.body or b"")
    assert (told["ease"], told["stay"]) == (4, 90)


FADES: list[tuple[RequestTemplate, dict[str, Any], Native, int]] = [
    (SHOW, {}, RED, 0),
    (replace(SHOW, query={"ease": "{fade}"}), {}, RED, 500),
    (replace(SHOW, then=RequestTemplate("PUT", "/{fade}")), {}, RED, 500),
    # What only the flash adds, a steady light is not told.
    (SHOW, {"adds": {"ease": "{fade}"}}, RED, 0),
    (SHOW, {"adds": {"ease": "{fade}"}}, BEAT, 500),
    (EACH, {"adds": {"ease": "{fade}"}}, BEAT, 500),
    (EACH, {"adds": {"ease": 3}}, BEAT, 0),
]


@pytest.mark.parametrize(("template", "changes", "look", "told_ms"), FADES)
def test_a_fade_is_as_long_as_it_is_told(
    template: RequestTemplate, changes: dict[str, Any], look: Native, told_ms: int
) -> None:
    """In whole units of the controller's; without a word of it the change is there at once."""
    effects = EFFECTS | {"flash": (NativeEffect("beat", 640, **changes),)}
    made = shower(template, effects=effects, fade=TimeCodec(100))
    assert made.fade_ms(replace(look, fade_ms=401)) == told_ms
    assert made.fade_ms(look) == 0


def test_what_cannot_be_shown_takes_no_time() -> None:
    """An effect that the dialect has not."""
    assert shower(effects={}).fade_ms(replace(RED, fade_ms=400)) == 0
