"""The contact sheet."""

from __future__ import annotations

from bridge.scenes.scene import Scene
from bridge.scenes.sheet import Line, contact_sheet
from bridge.scenes.strip import Strip

FLASH = Scene("see-me", "act", "flash", (255, 176, 0))
STEADY = Scene("trouble", "trouble", "steady", (255, 42, 26))
LINES = [
    Line("see-me", Strip(FLASH, 12), "flash"),
    Line("  returned", Strip(STEADY, 30), "a much longer text than the others have"),
]


def test_every_line_has_its_strip_and_its_words() -> None:
    """Below each other, names before and words behind the longest strip."""
    picture = contact_sheet("looks", LINES, moving=True)
    assert [each.text for each in picture.words] == [
        "looks",
        "see-me",
        "flash",
        "returned",
        "a much longer text than the others have",
    ]
    assert [each.frames for each in picture.lights] == [line.strip.round() for line in LINES]
    first, second = picture.lights
    assert second.y >= first.y + first.height
    ends = max(each.x + len(each.frames[0]) // 3 * each.width for each in picture.lights)
    assert all(words.x >= ends for words in picture.words[2::2])
    assert picture.words[3].x > picture.words[1].x


def test_all_of_it_is_on_the_picture() -> None:
    """The last pixel, the last line and about the longest text."""
    picture = contact_sheet("looks", LINES, moving=False)
    assert all(each.y + each.height <= picture.height for each in picture.lights)
    assert all(each.y <= picture.height for each in picture.words)
    assert all(each.x + 5 * len(each.text) <= picture.width for each in picture.words)


def test_it_may_stand_still() -> None:
    """As each look begins."""
    picture = contact_sheet("looks", LINES, moving=False)
    assert [each.frames for each in picture.lights] == [(line.strip.at(0),) for line in LINES]
