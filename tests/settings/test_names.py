"""Names that are used and names that clash."""

from __future__ import annotations

import pytest

from bridge.settings.document import parse
from bridge.settings.names import Names, refuse_clashes
from bridge.settings.problems import Problem
from bridge.settings.spot import Spot

SCENES = Names("scene", "legend.yaml", frozenset({"dark", "warm"}))
NO_TABLES = Names("table", "rules.yaml", frozenset())
KNOWN: list[tuple[Names, str, list[str]]] = [
    (SCENES, "dark", []),
    (SCENES, "drak", ["show: 'drak' is no scene of legend.yaml; did you mean 'dark'?"]),
    (Names("scene", "legend.yaml", None), "anything", []),
    (NO_TABLES, "wall", ["show: 'wall' is no table of rules.yaml; there is none"]),
]


@pytest.mark.parametrize(("names", "name", "lines"), KNOWN)
def test_an_unknown_name_is_a_problem(names: Names, name: str, lines: list[str]) -> None:
    """Unless the names themselves could not be read: then nobody knows."""
    spot = _spot("show: it\n")
    assert names.has(spot.at("show"), name) is not bool(lines)
    assert [str(problem) for problem in spot.problems] == [f"rules.yaml:1:7: {x}" for x in lines]


def test_a_key_begins_its_sentence() -> None:
    """It is not shown twice."""
    spot = _spot("drak: 1\n")
    assert not SCENES.has_key(spot.at("drak"), "drak")
    (problem,) = spot.problems
    assert problem.message == "drak: is no scene of legend.yaml; did you mean 'dark'?"


CLASHES = [
    (["frame", "sill"], []),
    (["frame", "Frame"], ["Frame: differs from 'frame' only in case"]),
    (["straße", "STRASSE"], ["STRASSE: differs from 'straße' only in case"]),
    (
        ["a", "A", "b", "B"],
        ["A: differs from 'a' only in case", "B: differs from 'b' only in case"],
    ),
]


@pytest.mark.parametrize(("names", "messages"), CLASHES)
def test_names_that_differ_in_case_clash(names: list[str], messages: list[str]) -> None:
    """The later one is told."""
    spot = _spot("".join(f"{name}: 1\n" for name in names))
    refuse_clashes(spot, names)
    assert [problem.message for problem in spot.problems] == messages


def _spot(text: str) -> Spot:
    problems: list[Problem] = []
    return Spot(parse("rules.yaml", text)[0], problems)
