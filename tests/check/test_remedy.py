"""What to write instead: it is tried out before it is said."""

from __future__ import annotations

import re
from dataclasses import replace

from bridge.check.finding import Finding
from bridge.check.legibility import legibility_findings
from bridge.check.meeting import Meetings
from bridge.check.remedy import Remedies, changed
from bridge.check.staging import stages
from bridge.engine.site import Site
from bridge.scenes.colour import parse_colour
from bridge.scenes.scene import Scene
from tests.check.test_site import CLUB


def written(name: str, **keys: object) -> Site:
    """The club with a scene written otherwise."""
    scene = changed(CLUB.scenes[name], "normal", keys)
    return replace(CLUB, scenes={**CLUB.scenes, name: scene})


def remedy(site: Site) -> str:
    """For the first clash, what to write in the first of its scenes."""
    meetings = Meetings(site)
    on = stages(meetings)
    clash = next(clash for stage in on for clash in stage.clashes())
    return Remedies(meetings, on).of(clash.one, clash.other)


def test_a_colour_that_is_told_is_told_apart() -> None:
    """Written into the legend, the finding is gone."""
    site = written("look-in", colour=(42, 110, 255), brightness=0.6)
    (found,) = _about_look_in(site)
    told = re.search(r'write colour: "(#[0-9a-f]{6})"', found.message)
    assert told is not None, found.message
    mended = written("look-in", colour=parse_colour(told[1]), brightness=0.6)
    assert _about_look_in(mended) == []


def _about_look_in(site: Site) -> list[Finding]:
    return [each for each in legibility_findings(site) if ("scene", "look-in") in each.about]


def test_where_no_colour_is_free_there_may_be_a_pattern() -> None:
    """One that no other look has; what asks nobody to come does not flash."""
    site = written("look-in", colour=(255, 168, 86), brightness=0.3)
    said = remedy(site)
    assert said
    assert "flash" not in said


def test_a_change_goes_on_to_the_looks_that_do_not_say_it_otherwise() -> None:
    """As the legend has it: a variant keeps what is written in it."""
    own = Scene("a", "act", "flash", (9, 9, 9))
    plain = replace(own, effect="steady")
    scene = replace(
        plain, variants=(("acknowledged", replace(plain, colour=(1, 2, 3))), ("returned", plain))
    )
    made = changed(scene, "normal", {"colour": (7, 7, 7)})
    assert made.colour == (7, 7, 7)
    assert dict(made.variants)["acknowledged"].colour == (1, 2, 3)
    assert dict(made.variants)["returned"].colour == (7, 7, 7)
    one = changed(scene, "acknowledged", {"colour": (7, 7, 7)})
    assert one.colour == (9, 9, 9)
    assert dict(one.variants)["acknowledged"].colour == (7, 7, 7)
