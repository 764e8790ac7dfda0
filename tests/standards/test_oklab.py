"""Oklab against its published pairs, and against colour-science.

Source: Björn Ottosson, "A perceptual color space for image processing", 2020-12-23, "Table of
example XYZ and Oklab pairs" (from memory): D65 white and three unit vectors of CIE XYZ, to three
digits. Second witness: colour-science's ``XYZ_to_Oklab``, which is held to the table too.
"""

from __future__ import annotations

import random

import pytest

from bridge.scenes.oklab import from_light, oklab_of
from tests.standards.colour_science import converted

#: XYZ, and what the table has for it.
PAIRS = [
    ((0.950, 1.000, 1.089), (1.000, 0.000, 0.000)),
    ((1.000, 0.000, 0.000), (0.450, 1.236, -0.019)),
    ((0.000, 1.000, 0.000), (0.922, -0.671, 0.263)),
    ((0.000, 0.000, 1.000), (0.153, -1.415, -0.449)),
]


def test_the_witness_has_the_published_pairs() -> None:
    """Ours begins at linear sRGB, which has none of the three vectors."""
    theirs = converted({"XYZ_to_Oklab": [xyz for xyz, _ in PAIRS]})["XYZ_to_Oklab"]
    for found, (_, wanted) in zip(theirs, PAIRS, strict=True):
        assert found == pytest.approx(list(wanted), abs=6e-4)


def test_white() -> None:
    """Of full red, green and blue."""
    assert from_light(1.0, 1.0, 1.0) == pytest.approx((1.0, 0.0, 0.0), abs=1e-4)


def test_any_colour_of_a_screen() -> None:
    """Hundreds of them, by another way: sRGB, XYZ, Oklab."""
    chance = random.Random(2020)
    colours = [
        (chance.randrange(256), chance.randrange(256), chance.randrange(256)) for _ in range(300)
    ]
    seen = converted({"sRGB_to_XYZ": [[code / 255 for code in each] for each in colours]})
    theirs = converted({"XYZ_to_Oklab": seen["sRGB_to_XYZ"]})["XYZ_to_Oklab"]
    for mine, other in zip(colours, theirs, strict=True):
        assert oklab_of(mine) == pytest.approx(tuple(other), abs=2e-3)
