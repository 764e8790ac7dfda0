"""What is seen together, and which of it is too alike."""

from __future__ import annotations

from dataclasses import replace

from bridge.check.meeting import Meeting, Meetings
from bridge.check.staging import differ, stages, too_alike, worst_clashes
from bridge.scenes.patterns import DARK, Face
from bridge.scenes.scene import BLACK
from tests.check.test_site import CLUB


def test_segments_at_which_the_same_is_seen_are_one() -> None:
    """The wall's table is on four of them, for three readers."""
    on = stages(Meetings(CLUB))
    names = [stage.segment.name for stage in on]
    assert names[0] == "door-frame"
    assert "bench-right" not in names
    assert len({stage.seen for stage in on}) == len(on)


def test_what_says_nothing_of_a_printer_need_not_differ() -> None:
    """What somebody holds may look like what a segment rests in; a rule's scene may not."""
    held, rest = Meeting("a", "normal", tells=False), Meeting("b", "normal", tells=False)
    assert not differ(held, rest)
    assert differ(held, Meeting("b", "normal"))
    assert not differ(Meeting("b", "normal"), Meeting("b", "normal", is_alarm=True))
    assert differ(Meeting("b", "normal"), Meeting("b", "unacknowledged"))


def test_dark_is_dark() -> None:
    """Nothing tells one from the other."""
    dark = Face(DARK, BLACK)
    found = too_alike(dark, dark)
    assert found is not None
    assert found.apart == 0
    assert too_alike(dark, dark, below=0.0) is None


def test_the_worst_is_kept_for_each_scene() -> None:
    """Of several that are too much like it."""
    scenes = CLUB.scenes
    spoilt = {
        "look-in": replace(scenes["look-in"], brightness=0.6),
        "fetch-me": replace(scenes["fetch-me"], colour=(250, 45, 30), brightness=1.0),
    }
    found = worst_clashes(stages(Meetings(replace(CLUB, scenes={**scenes, **spoilt}))))
    assert set(found) == {"look-in", "fetch-me", "trouble"}
    for name, other in (("trouble", "fetch-me"), ("look-in", "trouble")):
        clash = found[name]
        assert {clash.one[0].scene, clash.other[0].scene} == {name, other}
