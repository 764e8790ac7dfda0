"""The scenes of the legend."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.scenes.scene import Scene
from bridge.scenes.temperature import kelvin_to_colour
from bridge.settings.load import load_site
from tests.settings.copies import GOOD, load_edited, wrong

LEGEND = "legend.yaml"


def test_scenes_are_what_was_written() -> None:
    """Roles, CSS colours and temperatures become colours, percentages proportions."""
    scenes = load_site(GOOD).scenes
    assert scenes["feed-me"] == Scene(
        name="feed-me",
        says="act",
        effect="flash",
        colour=(0x2A, 0x60, 0xFF),
        rate="slow",
        dimmer=0.25,
    )
    assert scenes["dark"] == Scene("dark", "resting", "steady", (0, 0, 0), brightness=0.0)
    assert scenes["warm"].colour == kelvin_to_colour(2700)
    assert scenes["warm"].brightness == 0.3
    assert scenes["not-known"].pattern == "every-third"
    assert scenes["filling"].effect == "gauge"


def test_roles_have_colours_of_their_own(tmp_path: Path) -> None:
    """What the file does not say; a role may be a temperature."""
    site = load_edited(tmp_path, (LEGEND, '{action: "#2a60ff"}', "{neutral: 4000 K}"))
    assert site.scenes["feed-me"].colour == (0x2A, 0x60, 0xFF)
    assert site.scenes["ready"].colour == (0, 0xB0, 0x60)
    assert site.scenes["not-known"].colour == kelvin_to_colour(4000)


REFUSED = [
    ("colour: black", "colour: blakc", "3:49: colour: 'blakc' is no colour"),
    ("colour: black", "colour: dangr", "3:49: colour: 'dangr' is no colour"),
    ("colour: black", "colour: 7", "3:49: colour: 7 is no colour"),
    ("colour: 2700 K", "colour: 900 K", "4:49: colour: '900 K' is no light's colour"),
    ("colour: black", "colour: black, direction: forward", "3:56: direction: is for the effect"),
    ("colour: black", "colour: black, background: red", "3:56: background: is for the effect"),
    ("dimmer: 25 %", "dimmer: 100 %", "8:75: dimmer: a flash alternates two lit looks"),
    ("dimmer: 25 %", "brightness: 0 %", "8:79: brightness: a flash alternates two lit looks"),
    ('action: "#2a60ff"', "action: bleu", "1:17: action: 'bleu' is no colour"),
    ('action: "#2a60ff"', 'acton: "#2a60ff"', "1:9: acton: is no key here; did you mean 'action'?"),
]


@pytest.mark.parametrize(("old", "new", "start"), REFUSED)
def test_a_wrong_scene_is_told(old: str, new: str, start: str, tmp_path: Path) -> None:
    """Each at the value, or at the key that does not belong there."""
    (line,) = wrong(tmp_path, (LEGEND, old, new))
    assert line.startswith(f"legend.yaml:{start}")
