"""Errors of the models in our own words."""

from __future__ import annotations

import pytest

from bridge.settings.document import parse
from bridge.settings.legend_file import LegendFile
from bridge.settings.shapes import Keys, any_broken
from bridge.settings.site_file import SiteFile
from bridge.settings.wording import last_name, read_model

SITE = """\
printers: {}
controllers: {door: {url: "http://d", dialect: bars, pixels: 3}}
segments: {all: {on: door, length: 3}}
off_watch: grey
"""

WRONG: list[tuple[type[Keys], str, str, list[str]]] = [
    (SiteFile, "pixels: 3", "pixels: 3.5", ["2:62: pixels: is 3.5, expected a whole number"]),
    (SiteFile, "pixels: 3", "pixels: true", ["2:62: pixels: is true, expected a whole number"]),
    (SiteFile, "pixels: 3", "pixels: 200000", ["2:62: pixels: is 200000, expected at most 100000"]),
    (SiteFile, "off_watch: grey", "off_watch:", ["4:1: off_watch: is empty, expected a name"]),
    (SiteFile, "off_watch: grey", "", ["1:1: needs 'off_watch'"]),
    (SiteFile, "off_watch: grey", "of_watch: grey", ["4:1: of_watch: is no key here; did you"]),
    (SiteFile, "printers: {}", "printers: []", ["1:11: printers: is a list, expected a mapping"]),
    (SiteFile, "{on: door, length: 3}", "door", ["3:17: all: is 'door', expected a mapping"]),
    (SiteFile, "length: 3}", "length: 3, table: }", ["3:39: table: is empty, give it a value"]),
    (
        SiteFile,
        "length: 3}",
        "length: 3, printers: [7]}",
        ["3:50: printers: the name 7 is no text"],
    ),
    (
        SiteFile,
        "off_watch: grey",
        "off_watch: grey\nbridges: {}",
        ["5:1: bridges: is part of the grammar"],
    ),
    (
        SiteFile,
        "on: door, length: 3",
        "an: door, lenth: 0, first: -1",
        [
            "3:12: all: needs 'on'",
            "3:18: an: is no key here",
            "3:28: lenth: is no key here",
            "3:45: first: is -1, expected",
        ],
    ),
]


@pytest.mark.parametrize(("model", "old", "new", "starts"), WRONG)
def test_an_error_is_one_sentence_at_its_place(
    model: type[Keys], old: str, new: str, starts: list[str]
) -> None:
    """With the value, what was expected, and the nearest key."""
    assert old in SITE
    document, _ = parse("site.yaml", SITE.replace(old, new))
    _, problems = read_model(model, document)
    lines = sorted(map(str, problems))
    assert len(lines) == len(starts)
    for line, start in zip(lines, starts, strict=True):
        assert line.startswith(f"site.yaml:{start}")


def test_what_is_right_is_read_beside_what_is_wrong() -> None:
    """Entries that are wrong are marked, so that names of theirs are known."""
    text = "scenes: {a: {says: well, colour: red}, b: {says: wel, colour: red}}\n"
    legend, problems = read_model(LegendFile, parse("legend.yaml", text)[0])
    (problem,) = problems
    assert str(problem).startswith("legend.yaml:1:50: says: is 'wel', expected resting, well, ")
    assert str(problem).endswith(" act or trouble; did you mean 'well'?")
    assert legend is not None
    assert legend.scenes["a"].says == "well"
    assert any_broken([legend.scenes["b"]])


def test_a_section_for_later_hides_nothing() -> None:
    """The rest of the file is judged all the same."""
    text = "bridges: {}\nprinters: {}\ncontrollers: {}\nsegments: {}\noff_watch: grey\n"
    site, (problem,) = read_model(SiteFile, parse("site.yaml", text)[0])
    assert str(problem).startswith("site.yaml:1:1: bridges: is part of the grammar")
    assert site is not None
    assert site.off_watch == "grey"


NAMES = [((), ""), (("a",), "a"), (("a", "b", 2), "b"), (("a", "=mapping", 0), "a")]


@pytest.mark.parametrize(("path", "name"), NAMES)
def test_a_sentence_begins_with_the_innermost_key(path: tuple[object, ...], name: str) -> None:
    """Neither an index nor a mark of our own."""
    assert last_name(path) == name
