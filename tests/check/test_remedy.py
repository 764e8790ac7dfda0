"""Remedies: what is written, and that it helps."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.meeting import Meetings
from bridge.check.remedy import Remedies, changed
from bridge.check.staging import stages, worst_clashes
from bridge.engine.site import Site
from bridge.rules.day_times import DayTime
from bridge.scenes.scene import Colour, Scene
from bridge.scenes.variants import variant
from tests.check.test_site import CLUB


def with_scenes(*scenes: Scene) -> Site:
    """The club with these instead of its own of their names."""
    return replace(CLUB, scenes={**CLUB.scenes, **{each.name: each for each in scenes}})


def remedy(site: Site, name: str) -> str:
    """What is to be written in a scene."""
    meetings = Meetings(site)
    on = stages(meetings)
    clash = worst_clashes(on)[name]
    one, other = clash.one, clash.other
    if one[0].scene != name:
        one, other = other, one
    return Remedies(meetings, on).of(one, other)


def colour_in(text: str) -> Colour:
    """Of ``colour: "#rrggbb"``."""
    red, green, blue = bytes.fromhex(text.partition("#")[2][:6])
    return red, green, blue


LOOK_IN = replace(CLUB.scenes["look-in"], brightness=0.6)
SEE_ME = replace(CLUB.scenes["see-me"], brightness=0.8)


@pytest.mark.parametrize("scene", [LOOK_IN, SEE_ME], ids=["steady", "flash"])
def test_another_colour_of_the_hue_helps(scene: Scene) -> None:
    """Written in, nothing is found any more."""
    site = with_scenes(scene)
    text = remedy(site, scene.name)
    assert text.startswith('colour: "#')
    mended = with_scenes(changed(scene, "normal", {"colour": colour_in(text)}))
    assert worst_clashes(stages(Meetings(mended))) == {}


def test_of_a_bar_the_trough_is_changed() -> None:
    """Where it is that which is like something else."""
    filling = replace(CLUB.scenes["filling"], background=(0, 36, 26))
    text = remedy(with_scenes(filling), "filling")
    assert text.startswith('background: "#')
    mended = with_scenes(replace(filling, background=colour_in(text)))
    assert worst_clashes(stages(Meetings(mended))) == {}


def test_a_look_with_a_colour_of_its_own_is_changed_there() -> None:
    """The scene itself is not in the way."""
    see_me = CLUB.scenes["see-me"]
    own = replace(variant(see_me, "unacknowledged"), colour=(250, 60, 40))
    scene = replace(see_me, variants=(("unacknowledged", own),))
    text = remedy(with_scenes(scene), "see-me")
    assert text.startswith('unacknowledged: {colour: "#')
    mended = with_scenes(changed(scene, "unacknowledged", {"colour": colour_in(text)}))
    assert "see-me" not in worst_clashes(stages(Meetings(mended)))


def test_an_answer_that_looks_as_before_is_given_another_pattern() -> None:
    """Slow flashes of a scene that flashes slowly: whether its cause is gone cannot be seen."""
    alarms = {name: replace(each, sequence="R") for name, each in CLUB.alarms.items()}
    text = remedy(replace(CLUB, alarms=alarms), "see-me")
    assert text == "returned: {pattern: every-third}"
    scene = changed(CLUB.scenes["see-me"], "returned", {"pattern": "every-third"})
    found = worst_clashes(stages(Meetings(replace(with_scenes(scene), alarms=alarms))))
    assert "see-me" not in found


def test_where_no_colour_is_free_a_pattern_is() -> None:
    """As here, where an evening says which colours; nobody is called by it who need not come."""
    evening = ((DayTime("clock", 64_800), 4000.0), (DayTime("clock", 79_200), 2700.0))
    ready = replace(CLUB.scenes["ready"], brightness=1.0)
    fetch_me = replace(CLUB.scenes["fetch-me"], brightness=1.0, evening=evening)
    assert remedy(with_scenes(ready, fetch_me), "fetch-me") == "pattern: every-third"
    mended = changed(fetch_me, "normal", {"pattern": "every-third"})
    assert "fetch-me" not in worst_clashes(stages(Meetings(with_scenes(ready, mended))))


def test_what_is_dark_has_no_remedy_of_its_own() -> None:
    """Neither a colour nor a pattern shows without light."""
    ready = replace(CLUB.scenes["ready"], brightness=0.0)
    assert remedy(with_scenes(ready), "ready") == ""


def test_a_change_goes_on_to_the_looks_that_do_not_say_it() -> None:
    """As it does when the legend is read."""
    see_me = CLUB.scenes["see-me"]
    same, own = replace(see_me, rate="normal"), replace(see_me, colour=(1, 2, 3))
    scene = replace(see_me, variants=(("unacknowledged", same), ("returned", own)))
    found = changed(scene, "normal", {"colour": (9, 9, 9)})
    assert found.colour == variant(found, "unacknowledged").colour == (9, 9, 9)
    assert variant(found, "returned").colour == (1, 2, 3)
