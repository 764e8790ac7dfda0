"""What is seen on a segment at one time, and what of it is too alike."""

from __future__ import annotations

from dataclasses import replace

from bridge.check.meeting import Meeting, Meetings, Time
from bridge.check.staging import Stage, differ, faces_of, stages, too_alike
from bridge.engine.site import Site
from bridge.scenes.patterns import DARK, Face
from bridge.scenes.scene import BLACK, Colour
from tests.check.test_site import CLUB

RED, REDDISH, BLUE = (200, 0, 0), (205, 5, 5), (0, 60, 255)
DOOR = CLUB.segments["door-frame"]


def stage(*seen: tuple[str, str, Colour, bool]) -> Stage:
    """Scenes with a pattern and a colour; the last: whether it tells something."""
    made = [
        (Meeting(scene, "normal", tells=tells), Face(pattern, colour))
        for scene, pattern, colour, tells in seen
    ]
    return Stage(DOOR, Time(), tuple(made))


def recoloured(name: str, colour: Colour) -> Site:
    """The club with one scene in another colour."""
    scene = replace(CLUB.scenes[name], colour=colour)
    return replace(CLUB, scenes={**CLUB.scenes, name: scene})


def test_two_clash_where_pattern_and_colour_are_alike() -> None:
    """And only there."""
    (clash,) = stage(
        ("a", "whole", RED, True),
        ("b", "whole", REDDISH, True),
        ("c", "every-third", RED, True),
        ("d", "whole", BLUE, True),
    ).clashes()
    assert (clash.one[0].scene, clash.other[0].scene) == ("a", "b")
    assert clash.alike.share < 1


def test_two_that_tell_nothing_may_be_alike() -> None:
    """A warm light is as good as another warm light; beside what tells something it is not."""
    assert list(stage(("a", "whole", RED, False), ("b", "whole", RED, False)).clashes()) == []
    assert len(list(stage(("a", "whole", RED, False), ("b", "whole", RED, True)).clashes())) == 1
    assert not differ(Meeting("a", "normal"), Meeting("a", "normal"))
    assert differ(Meeting("a", "normal"), Meeting("a", "acknowledged"))


def test_dark_is_dark() -> None:
    """Whatever it would be if it were lit."""
    found = too_alike(Face(DARK, BLACK), Face(DARK, BLACK))
    assert found is not None
    assert found.apart == 0


def test_every_segment_is_a_stage_and_the_same_only_once() -> None:
    """Where the same is seen at two, the first stands for both."""
    on = stages(Meetings(CLUB))
    assert len({each.seen for each in on}) == len(on) > 1
    assert on[0].segment.name == "door-frame"
    assert not any(list(each.clashes()) for each in on)


def test_a_scene_is_seen_as_it_is_written() -> None:
    """In another colour it is another face."""
    meetings, meeting = Meetings(CLUB), Meeting("look-in", "normal")
    (plain,) = faces_of(meetings, DOOR, Time(), meeting, CLUB.scenes["look-in"])
    changed = recoloured("look-in", BLUE).scenes["look-in"]
    (other,) = faces_of(meetings, DOOR, Time(), meeting, changed)
    assert plain.pattern == other.pattern
    assert other.colour == BLUE
    assert any(list(each.clashes()) for each in stages(Meetings(recoloured("look-in", BLUE))))
