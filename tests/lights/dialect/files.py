"""The paper controllers, and a dialect for each as a person would write it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from bridge.lights.dialect.dialect import Dialect
from bridge.lights.place import Place
from bridge.settings.dialect_file import DialectFile
from bridge.settings.dialects import grammar_of
from bridge.settings.document import parse
from bridge.settings.problems import Problem
from bridge.settings.spot import Spot
from bridge.settings.wording import read_model

DIALECTS = Path(__file__).parent / "controllers"
CONTROLLERS = Path(__file__).parents[2] / "devices" / "controllers"
NAMES = tuple(sorted(path.stem for path in CONTROLLERS.glob("*.yaml")))
#: Where a controller has a name of its own for a segment.
_OWN_NAMES = ("id", "side", "letter", "path_name")


def dialect_of(name: str) -> Dialect:
    """The dialect in ``controllers/NAME.yaml``, read as a site's file is."""
    problems: list[Problem] = []
    document, wrong = parse(name, (DIALECTS / f"{name}.yaml").read_text("utf-8"))
    problems += wrong
    keys, wrong = read_model(DialectFile, document)
    problems += wrong
    grammar = None if keys is None else grammar_of(name, keys, Spot(document, problems))
    assert grammar is not None, "\n".join(map(str, problems))
    return Dialect(grammar)


def device_of(name: str) -> dict[str, Any]:
    """What is kept of the controller on paper."""
    text = (CONTROLLERS / f"{name}.yaml").read_text("utf-8")
    loaded: dict[str, Any] = YAML(typ="safe", pure=True).load(text)
    return loaded


def places_of(device: dict[str, Any]) -> dict[str, Place]:
    """The segments that are ours, by name."""
    return {
        segment["name"]: Place(
            segment["name"], _number(segment), segment["first"], segment["length"]
        )
        for segment in device["segments"]
        if segment.get("ours", True)
    }


def _number(segment: dict[str, Any]) -> int | str:
    number: int | str = next(
        (segment[key] for key in _OWN_NAMES if key in segment), segment["number"]
    )
    return number
