"""Looks in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.rules.day_times import DayTime
from bridge.scenes.manner import colour_word, manner, plain_manner
from bridge.scenes.scene import BLACK, Colour, Scene
from bridge.scenes.temperature import kelvin_to_colour

BLUE = Scene("fetch-me", "notice", "steady", (42, 96, 255), brightness=0.6)
GAUGE = Scene("filling", "well", "gauge", (0, 176, 96), brightness=0.6)
EVENING = replace(BLUE, colour=kelvin_to_colour(2700), evening=((DayTime("clock", 0), 2700.0),))

MANNERS = [
    (BLUE, "steady, 60%", "blue, steady, 60 % bright"),
    (
        replace(BLUE, effect="flash", rate="slow"),
        "flash at the slow rate, 60%",
        "blue, flashes slowly, 0.8 times a second, 60 % bright",
    ),
    (
        replace(BLUE, effect="flash", rate="normal", pattern="every-third"),
        "flash at the normal rate, every-third, 60%",
        "blue, flashes fast, 1.6 times a second, every third pixel, 60 % bright",
    ),
    (GAUGE, "gauge, 60%", "green, a bar that fills as the part grows, 60 % bright"),
    (
        replace(GAUGE, colour=BLACK, background=(255, 0, 0)),
        "gauge, 60%",
        "red, a bar that fills as the part grows, 60 % bright",
    ),
    (
        replace(GAUGE, source="time-to-completion", full_s=60.0),
        "gauge, 60%",
        "green, a bar that runs down with the time that is left, 60 % bright",
    ),
    (replace(BLUE, effect="swell"), "swell, 60%", "blue, slowly brighter and dimmer, 60 % bright"),
    (replace(BLUE, effect="march"), "march, 60%", "blue, a block that goes along, 60 % bright"),
    (replace(BLUE, brightness=0.0), "steady, 0%", "dark"),
    (replace(BLUE, colour=BLACK), "steady, 60%", "dark"),
    (
        EVENING,
        "steady, 60%",
        "warm white, steady, 60 % bright, warmer as the evening goes on",
    ),
]


@pytest.mark.parametrize(("scene", "keys", "plain"), MANNERS)
def test_a_look_in_words(scene: Scene, keys: str, plain: str) -> None:
    """In those of the legend, and in those of somebody who never saw it."""
    assert manner(scene) == keys
    assert plain_manner(scene) == plain


COLOURS = [
    ("#ff2a1a", "red"),
    ("#ff6400", "orange"),
    ("#ffb000", "yellow"),
    ("#00b060", "green"),
    ("#00ced1", "turquoise"),
    ("#2a60ff", "blue"),
    ("#800080", "purple"),
    ("#ff0010", "red"),
    ("#d8d8d0", "white"),
    ("#141414", "white"),
    ("#000000", "dark"),
]


@pytest.mark.parametrize(("text", "word"), COLOURS)
def test_a_colour_has_a_plain_name(text: str, word: str) -> None:
    """The roles of the example, and what lies between them."""
    colour: Colour = (int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16))
    assert colour_word(colour) == word


@pytest.mark.parametrize(("kelvin", "word"), [(2700, "warm white"), (6500, "white")])
def test_whites_are_told_by_their_warmth(kelvin: int, word: str) -> None:
    """A lamp's and the day's."""
    assert colour_word(kelvin_to_colour(kelvin)) == word


def test_every_hue_has_a_name() -> None:
    """All the way round."""
    for code in range(256):
        for colour in ((255, code, 0), (0, 255, code), (code, 0, 255), (255, 0, code)):
            assert colour_word(colour)
