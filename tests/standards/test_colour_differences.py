"""Differences between colours, and what dichromats see, against the published figures.

Sources: G. Sharma, W. Wu, E. N. Dalal, *The CIEDE2000 color-difference formula: implementation
notes, supplementary test data, and mathematical observations*, Color Research and Application
30(1), 2005, table 1 (all 34 pairs, as the tests of colour-science 0.4.7 hold them); G. M. Machado,
M. M. Oliveira, L. A. F. Fernandes 2009 at severity 1.0; and colour-science 0.4.7 itself, which
reckons with numpy and shares nothing with this code, for CIELAB, CIEDE2000 and the matrices.
"""

from __future__ import annotations

import itertools
import random
from typing import Final

import pytest

from bridge.scenes.difference import Lab, difference, lab_of
from bridge.scenes.eyes import SIGHTS, labs_of
from bridge.scenes.light import Light
from bridge.scenes.scene import Colour
from bridge.scenes.sight import DICHROMACIES, Sight
from tests.standards.colour_science import dichromacies, differences, labs

SHARMA: Final[list[tuple[Lab, Lab, float]]] = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
    ((50.0, 2.8361, -74.02), (50.0, 0.0, -82.7485), 3.4412),
    ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0),
    ((50.0, -1.1848, -84.8006), (50.0, 0.0, -82.7485), 1.0),
    ((50.0, -0.9009, -85.5211), (50.0, 0.0, -82.7485), 1.0),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, -1.0, 2.0), (50.0, 0.0, 0.0), 2.3669),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0009), 7.1792),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.001), 7.1792),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0011), 7.2195),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0012), 7.2195),
    ((50.0, -0.001, 2.49), (50.0, 0.0009, -2.49), 4.8045),
    ((50.0, -0.001, 2.49), (50.0, 0.001, -2.49), 4.8045),
    ((50.0, -0.001, 2.49), (50.0, 0.0011, -2.49), 4.7461),
    ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
    ((50.0, 2.5, 0.0), (56.0, -27.0, -3.0), 31.903),
    ((50.0, 2.5, 0.0), (58.0, 24.0, 15.0), 19.4535),
    ((50.0, 2.5, 0.0), (50.0, 3.1736, 0.5854), 1.0),
    ((50.0, 2.5, 0.0), (50.0, 3.2972, 0.0), 1.0),
    ((50.0, 2.5, 0.0), (50.0, 1.8634, 0.5757), 1.0),
    ((50.0, 2.5, 0.0), (50.0, 3.2592, 0.335), 1.0),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.263),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.248, -4.962), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.694), (23.0331, 14.973, -42.5619), 2.0373),
    ((36.4612, 47.858, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.441), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.135), (0.9033, -0.0636, -0.5514), 0.9082),
]
#: Its hues lie opposite each other but for a last digit: the two sides of the mean hue.
FOURTEENTH: Final = 13
_DRAWN: Final = random.Random("differences")


@pytest.mark.parametrize("number", range(len(SHARMA)))
def test_the_published_pairs(number: int) -> None:
    """All 34, both ways round; the fourteenth as the last digit of an arc tangent has it."""
    one, other, published = SHARMA[number]
    wanted = {4.8045, 4.7461} if number == FOURTEENTH else {published}
    for found in (difference(one, other), difference(other, one)):
        assert round(found, 4) in wanted


def test_there_are_34_of_them() -> None:
    """None is left out, and none stands twice."""
    assert len({(one, other) for one, other, _ in SHARMA}) == 34


def test_random_pairs_agree_with_colour_science() -> None:
    """Far and near, in and out of what a screen can show, greys too."""

    def drawn() -> Lab:
        return _DRAWN.uniform(0, 100), _DRAWN.uniform(-128, 128), _DRAWN.uniform(-128, 128)

    pairs: list[tuple[Lab, Lab]] = [(drawn(), drawn()) for _ in range(4000)]
    for lightness, a, b in (drawn() for _ in range(4000)):
        near = (lightness + _DRAWN.gauss(0, 2), a + _DRAWN.gauss(0, 3), b + _DRAWN.gauss(0, 3))
        pairs.append(((lightness, a, b), near))
    pairs += [((lightness, 0.0, 0.0), drawn()) for lightness in range(0, 101, 5)]
    for (one, other), theirs in zip(pairs, differences(pairs), strict=True):
        assert difference(one, other) == pytest.approx(theirs, abs=1e-9), (one, other)


_STEPS: Final = (0.0, 0.001, 0.01, 0.2, 0.5, 1.0)
LIGHTS: Final[list[Light]] = [
    *((red, green, blue) for red, green, blue in itertools.product(_STEPS, _STEPS, _STEPS)),
    *((_DRAWN.random(), _DRAWN.random(), _DRAWN.random()) for _ in range(1000)),
]


def test_cielab_agrees_with_colour_science() -> None:
    """From darkness to white, with the primaries and the white of the standard on both sides."""
    for light, theirs in zip(LIGHTS, labs(LIGHTS), strict=True):
        assert lab_of(light) == pytest.approx(theirs, abs=1e-9), light


#: Ours to theirs.
KINDS: Final[dict[Sight, str]] = {
    "protanopia": "Protanomaly",
    "deuteranopia": "Deuteranomaly",
    "tritanopia": "Tritanomaly",
}


def test_dichromacies_agree_with_colour_science() -> None:
    """Nine numbers each."""
    theirs = dichromacies(list(KINDS.values()))
    ours = [[list(row) for row in DICHROMACIES[sight]] for sight in KINDS]
    assert set(KINDS) == set(DICHROMACIES)
    assert ours == theirs


# The closest pairs of pure indicator colours (computed before this code was, with colour-science).
CLOSEST: Final[list[tuple[Sight, Colour, Colour, float]]] = [
    ("normal", (255, 255, 0), (255, 191, 0), 19.8),
    ("protanopia", (255, 255, 0), (0, 255, 0), 3.1),
    ("deuteranopia", (255, 191, 0), (0, 255, 0), 2.0),
    ("tritanopia", (255, 255, 0), (255, 255, 255), 14.0),
]


@pytest.mark.parametrize(("sight", "one", "other", "apart"), CLOSEST)
def test_known_confusions(sight: Sight, one: Colour, other: Colour, apart: float) -> None:
    """To the tenth that is stated."""
    first, second = (labs_of(colour)[SIGHTS.index(sight)] for colour in (one, other))
    assert difference(first, second) == pytest.approx(apart, abs=0.05)
