"""A place in a file, and problems put there."""

from __future__ import annotations

from bridge.settings.document import parse
from bridge.settings.problems import Problem
from bridge.settings.spot import Spot

TEXT = "segments:\n  frame:\n    length: 12\n    words: [a, b]\n"


def test_a_problem_begins_with_the_innermost_key() -> None:
    """At the value, at the key, at an item, at the top."""
    problems: list[Problem] = []
    spot = Spot(parse("site.yaml", TEXT)[0], problems)
    frame = spot.at("segments", "frame")
    frame.at("length").wrong("is short")
    frame.at("length").wrong_key("is short")
    frame.at("words", 1).wrong("is odd")
    spot.wrong("is poor")
    assert list(map(str, problems)) == [
        "site.yaml:3:13: length: is short",
        "site.yaml:3:5: length: is short",
        "site.yaml:4:16: words: is odd",
        "site.yaml:1:1: is poor",
    ]


def test_a_spot_tells_its_source() -> None:
    """For findings, after the file is gone."""
    spot = Spot(parse("site.yaml", TEXT)[0], [])
    assert str(spot.at("segments", "frame", "words").source) == "site.yaml:4:12"
