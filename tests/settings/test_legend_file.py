"""The model of ``legend.yaml``."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from bridge.settings.legend_file import LegendFile
from bridge.settings.wording import last_name


def test_what_is_not_said_has_its_default() -> None:
    """A scene needs only what it says and its colour."""
    scene = LegendFile.model_validate(
        {"scenes": {"grey": {"says": "unknown", "colour": "grey"}}}
    ).scenes["grey"]
    assert (scene.effect, scene.brightness, scene.pattern) == ("steady", 1.0, "whole")
    assert (scene.rate, scene.dimmer, scene.input) == ("normal", 0.25, "progress")


REFUSED = [
    ({"says": "unknown", "colour": "grey", "returned": {"says": "well"}}, "says"),
    ({"says": "unknown", "colour": "grey", "returned": None}, "grey"),
    ({"says": "unknown", "colour": None}, "colour"),
    ({"says": "unknown", "colour": "grey", "effect": "throb"}, "effect"),
    ({"says": "unknown", "colour": "grey", "when_unknown": "march"}, "when_unknown"),
    ({"says": "unknown", "colour": "grey", "brightness": 0.5}, "brightness"),
]


@pytest.mark.parametrize(("scene", "key"), REFUSED)
def test_a_scene_that_cannot_be_is_refused(scene: dict[str, object], key: str) -> None:
    """At the key that is wrong."""
    with pytest.raises(ValidationError) as caught:
        LegendFile.model_validate({"scenes": {"grey": scene}})
    assert [last_name(error["loc"]) for error in caught.value.errors()] == [key]
