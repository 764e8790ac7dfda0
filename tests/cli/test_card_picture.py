"""The card as one picture."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from bridge.check.meanings import Meaning, Occasion, meanings_of
from bridge.cli.card_looks import looks
from bridge.cli.card_page import PaperSize
from bridge.cli.card_picture import card_picture
from bridge.scenes.picture import svg
from bridge.scenes.scene import Scene
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG

MEANINGS = meanings_of(load_site(CONFIG))
FLASH = Scene("see-me", "act", "flash", (255, 176, 0), brightness=0.8, rate="slow")
STRANGE = Meaning(FLASH, (("", FLASH),), (Occasion("<script>", "a & b", "long " * 60 + "x" * 300),))
PAPERS: dict[PaperSize, tuple[int, int]] = {"a4": (794, 1123), "letter": (816, 1056)}


@pytest.mark.parametrize("paper", PAPERS)
def test_the_example_fits_a_page(paper: PaperSize) -> None:
    """All its strips and words, as they are, on white."""
    made = card_picture(MEANINGS, paper)
    assert (made.width, made.height) == PAPERS[paper]
    assert made.paper == "white"
    strips = [frame for each in MEANINGS for look in looks(each) for frame in look.phases]
    assert [each.frames[0] for each in made.lights if not each.screen_only] == strips
    assert max(each.y for each in made.words) < made.height
    assert max(each.x + each.width * 12 for each in made.lights) < 376


def test_a_heading_names_each_scene_in_order() -> None:
    """Below each other, and the last words are what it is not."""
    made = card_picture(MEANINGS, "a4")
    headings = [each for each in made.words if each.size == 13]
    assert [each.text.split("(")[1] for each in headings] == [f"{e.scene.name})" for e in MEANINGS]
    assert [each.y for each in headings] == sorted(each.y for each in headings)
    last = next(each for each in made.words if "no safety device" in each.text)
    assert last.text == "The lights inform; they are no safety device."
    assert last.y > max(each.y for each in headings)


def test_no_two_things_lie_on_each_other() -> None:
    """Lines of a column have room between them, and strips too."""
    made = card_picture([*MEANINGS, STRANGE], "a4")
    for column in (38, 376):
        lines = sorted(each.y for each in made.words if each.x == column)
        assert all(below - above >= 13 for above, below in pairwise(lines))
    tops = [each.y - 8 for each in made.words if each.x == 38]
    for lights in made.lights:
        assert not [top for top in tops if lights.y <= top < lights.y + lights.height]


def test_more_than_a_page_is_printed_smaller() -> None:
    """It keeps the shape of the paper."""
    made = card_picture(MEANINGS * 3, "a4")
    assert made.height > 1123
    assert made.width / made.height == pytest.approx(794 / 1123, abs=0.002)
    assert max(each.y for each in made.words) < made.height


def test_any_text_is_text_and_is_wrapped() -> None:
    """It makes no elements, and none runs out of the page."""
    made = card_picture([STRANGE], "a4")
    assert max(len(each.text) for each in made.words if each.x == 376) <= 66
    root = ET.fromstring(svg(made))  # noqa: S314 - our own
    texts = [each.text or "" for each in root.iter("{http://www.w3.org/2000/svg}text")]
    assert any(each.startswith("<script>: long") for each in texts)
    assert "a & b" in texts
