"""The scenes of the legend."""

from __future__ import annotations

from dataclasses import replace
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
    assert site.scenes["ready"].colour == (0, 0xB0, 0x80)
    assert site.scenes["not-known"].colour == kelvin_to_colour(4000)


REFUSED = [
    ("says: act, ", "", "8:3: feed-me: needs 'says'"),
    ("colour: black, ", "", "3:3: dark: needs 'colour'"),
    ("says: act,", "like: nobody,", "8:19: like: 'nobody' is no scene of legend.yaml"),
    ("says: act,", "like: feed-me,", "8:19: like: 'feed-me' is like this one"),
    ("dimmer: 25 %", "returned: {direction: forward}", "8:78: direction: is no key here"),
    ("dimmer: 25 %", "returned: {effect: steady, rate: slow}", "8:94: rate: is for the effect"),
    ("dimmer: 25 %", "returned: {brightness: 0 %}", "8:90: brightness: a flash alternates"),
    ("dimmer: 25 %", "returned: {colour: bleu}", "8:86: colour: 'bleu' is no colour"),
    ("colour: black, brightness: 0 %", "colour: red, returned: {says: well}", "3:65: says: is no"),
    (
        "brightness: 0 %",
        "brightness: 0 %, returned: {effect: flash}",
        "3:92: effect: a flash alternates two lit looks",
    ),
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


MORE = (
    LEGEND,
    "dimmer: 25 %}",
    """dimmer: 25 %, acknowledged: {effect: steady}, returned: {brightness: 40 %}}
  fetch-me: {like: feed-me, says: notice, colour: neutral, returned: {pattern: every-third}}
  again: {like: fetch-me}""",
)


def test_a_scene_may_be_like_another(tmp_path: Path) -> None:
    """All but its name is the other's, unless it is said here; what answers an alarm too."""
    scenes = load_edited(tmp_path, MORE).scenes
    feed, fetch, again = (scenes[name] for name in ("feed-me", "fetch-me", "again"))
    assert (fetch.effect, fetch.rate, fetch.dimmer) == ("flash", "slow", 0.25)
    assert (fetch.says, fetch.colour) == ("notice", (0xD8, 0xD8, 0xD0))
    assert replace(again, name="fetch-me", variants=()) == replace(fetch, variants=())
    assert [each for each, _ in again.variants] == ["acknowledged", "returned"]
    assert {look.name for _, look in again.variants} == {"again"}
    assert (feed.name, fetch.name, again.name) == ("feed-me", "fetch-me", "again")
    assert list(scenes)[-3:] == ["feed-me", "fetch-me", "again"]


def test_variants_change_what_they_say(tmp_path: Path) -> None:
    """And keep the rest of their own scene; an absent one is not made up here."""
    scenes = load_edited(tmp_path, MORE).scenes
    plain = replace(scenes["feed-me"], variants=())
    assert dict(scenes["feed-me"].variants) == {
        "acknowledged": replace(plain, effect="steady"),
        "returned": replace(plain, brightness=0.4),
    }
    fetch = dict(scenes["fetch-me"].variants)
    assert set(fetch) == {"acknowledged", "returned"}
    assert {scene.colour for scene in fetch.values()} == {(0xD8, 0xD8, 0xD0)}
    assert {scene.says for scene in fetch.values()} == {"notice"}


def test_scenes_that_are_like_each_other_are_told(tmp_path: Path) -> None:
    """There is no beginning."""
    circle = ("dimmer: 25 %}", "dimmer: 25 %}\n  one: {like: two}\n  two: {like: one}")
    (line,) = wrong(tmp_path, (LEGEND, *circle))
    assert line == ("legend.yaml:10:15: like: 'one' is like this one, so that neither is made")


def test_a_scene_that_is_like_a_wrong_one_makes_no_noise(tmp_path: Path) -> None:
    """The mistake is told where it is."""
    edit = (LEGEND, "dimmer: 25 %}", "dimmer: 0 %}\n  one: {like: feed-me}")
    (line,) = wrong(tmp_path, edit)
    assert line.startswith("legend.yaml:8:75: dimmer: a flash")


def test_a_variant_of_another_scene_must_go_with_this_one(tmp_path: Path) -> None:
    """What is dark cannot flash, whoever says that it does."""
    like = "  lamp: {says: act, colour: red, returned: {effect: flash}}\n"
    like += "  off: {like: lamp, brightness: 0 %}\n"
    (line,) = wrong(tmp_path, (LEGEND, "scenes:\n", f"scenes:\n{like}"))
    assert line == ("legend.yaml:4:15: like: has a variant that flashes, and 'off' is not lit")
