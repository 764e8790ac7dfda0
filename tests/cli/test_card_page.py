"""The card as HTML, read with the standard library's parser."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from bridge.check.meanings import Meaning, Occasion, meanings_of
from bridge.cli.card_page import PaperSize, card_page
from bridge.scenes.frames import frame
from bridge.scenes.scene import Scene
from bridge.settings.load import load_site
from tests.cli.commands import CONFIG

SITE = load_site(CONFIG)
#: Elements that are not closed.
VOID = {"meta", "br"}
FLASH = Scene("see-me", "act", "flash", (255, 176, 0), brightness=0.8, rate="slow")
MEANING = Meaning(FLASH, (("", FLASH),), (Occasion("stopped", "it is hot", "let it cool"),))


class Page(HTMLParser):
    """The elements, the texts below each, and the attributes of each pixel."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element begins."""
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element that is empty."""
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """The last that was begun ends, and no other."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Text within the innermost element."""
        if data.strip():
            self.texts.append((self.open[-1], data.strip()))

    def text_in(self, tag: str) -> list[str]:
        """The texts of elements of this kind."""
        return [text for within, text in self.texts if within == tag]

    def strips(self) -> list[list[str | None]]:
        """The colours of each strip."""
        found: list[list[str | None]] = []
        for tag, given in self.elements:
            if tag == "g":
                found.append([])
            elif tag == "rect":
                found[-1].append(given["fill"])
        return found


def codes(pixels: bytes) -> list[str | None]:
    """The colours of a frame, as CSS writes them."""
    return [f"#{pixels[at : at + 3].hex()}" for at in range(0, len(pixels), 3)]


def test_it_is_well_formed_and_needs_nothing_else() -> None:
    """Every element is closed where it should be; nothing is fetched and nothing runs."""
    page = Page(card_page(meanings_of(SITE), "a4"))
    assert page.open == []
    kinds = {tag for tag, _ in page.elements}
    assert not kinds & {"script", "link", "img", "iframe", "object", "base", "a"}
    assert not {name for _, given in page.elements for name in given} & {"src", "href", "style"}
    assert "url(" not in page.text_in("style")[0]
    assert "@import" not in page.text_in("style")[0]


def test_it_names_every_scene_that_the_rules_show_and_no_other() -> None:
    """The gravest first, each with its sentence."""
    page = Page(card_page(meanings_of(SITE), "a4"))
    assert page.text_in("small") == [each.scene.name for each in meanings_of(SITE)]
    assert page.text_in("h2")[0] == "Something is broken"


def test_it_ends_with_what_it_is_not() -> None:
    """In a sentence of its own."""
    page = Page(card_page(meanings_of(SITE), "a4"))
    assert page.text_in("strong") == ["The lights inform; they are no safety device."]
    kinds = [tag for tag, _ in page.elements]
    assert "section" not in kinds[kinds.index("footer") :]


def test_a_rule_stands_with_its_answer_and_its_cause() -> None:
    """In the words of the site."""
    page = Page(card_page([MEANING], "a4"))
    assert page.text_in("b") == ["stopped"]
    assert page.text_in("li") == [": let it cool"]
    assert page.text_in("i") == ["it is hot"]


def test_a_flash_is_drawn_twice_for_paper_and_once_more_for_screens() -> None:
    """The third blinks where it may, and is not printed."""
    text = card_page([MEANING], "a4")
    bright, dim = frame(FLASH, 12, 0, {}), frame(FLASH, 12, 1000, {})
    page = Page(text)
    assert page.strips() == [codes(bright), codes(dim), codes(bright)]
    groups = [given.get("class") for tag, given in page.elements if tag == "g"]
    assert groups == [None, None, "screen"]
    moving = [given.get("class") for tag, given in page.elements if tag == "rect"]
    assert moving == [None] * 24 + ["moves motion-1"] * 12
    style = page.text_in("style")[0]
    assert "animation:motion-1 1250ms step-end infinite" in style
    assert "@media print{.screen{display:none}}" in style
    assert "prefers-reduced-motion:reduce){.screen{display:none}" in style


def test_every_look_is_told_in_words() -> None:
    """For whoever has printed it in grey, or sees none of its colours."""
    captions = Page(card_page(meanings_of(SITE), "a4")).text_in("figcaption")
    assert "red, flashes fast, 1.6 times a second, 100 % bright" in captions
    assert "yellow, steady, every third pixel, 60 % bright" in captions
    assert len(set(captions)) == len(captions)


@pytest.mark.parametrize(("paper", "size"), [("a4", "A4"), ("letter", "letter")])
def test_it_fits_the_paper(paper: PaperSize, size: str) -> None:
    """By its name in CSS, and within the width of either."""
    style = Page(card_page([MEANING], paper)).text_in("style")[0]
    assert f"@page{{size:{size} portrait;margin:10mm}}" in style
    widest = re.search(r"max-width:(\d+)mm", style)
    assert widest is not None
    assert int(widest[1]) <= 210 - 20


HOSTILE = [
    "<script>alert(1)</script>",
    "</style><img src=x onerror=alert(1)>",
    "\" onload='alert(1)' & <b>",
    "turned \u202e round \x1b[31m",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_any_name_is_text(text: str) -> None:
    """Wherever one can come from a file."""
    scene = replace(FLASH, name=text)
    plain = Page(card_page([MEANING], "a4"))
    page = Page(card_page([Meaning(scene, ((text, scene),), (Occasion(text, text, text),))], "a4"))
    assert page.open == []
    # One more <b>: when it looks so.
    kinds = [tag for tag, _ in page.elements]
    kinds.remove("b")
    assert kinds == [tag for tag, _ in plain.elements]
    shown = text.encode("unicode_escape").decode() if not text.isprintable() else text
    assert page.text_in("small") == [shown]
    assert page.text_in("b") == [f"{shown}:", shown]
    assert page.text_in("li") == [f": {shown}"]
    assert page.text_in("i") == [shown]
