"""Colour blindness against a published implementation.

Source: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, *A Physiologically-based Model for
Simulation of Color Vision Deficiency*, IEEE TVCG 15(6), 2009, at severity 1.0, as colour-science
0.4.7 has its table, on light that its own sRGB transfer function gives.
"""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from typing import Final

import pytest

from bridge.scenes.scene import Colour
from bridge.scenes.sight import Sight, seen

_STEPS: Final = (0, 1, 3, 20, 89, 128, 176, 254, 255)
COLOURS: Final[list[Colour]] = list(itertools.product(_STEPS, repeat=3))  # type: ignore[arg-type]
NAMES: Final[dict[Sight, str]] = {
    "protanopia": "Protanomaly",
    "deuteranopia": "Deuteranomaly",
    "tritanopia": "Tritanomaly",
}
_CHILD: Final = """
import json, sys, warnings
warnings.simplefilter("ignore")
import numpy
from colour.blindness import matrix_cvd_Machado2009
from colour.models import eotf_inverse_sRGB, eotf_sRGB
asked = json.load(sys.stdin)
light = eotf_sRGB(numpy.array(asked["colours"]) / 255)
json.dump({
    name: (255 * eotf_inverse_sRGB(numpy.clip(
        light @ numpy.array(matrix_cvd_Machado2009(name, 1.0)).T, 0, 1))).tolist()
    for name in asked["names"]
}, sys.stdout)
"""


@pytest.fixture(scope="module")
def published() -> dict[str, list[list[float]]]:
    """By the anomaly's name, what each colour is seen as; in codes that are not rounded."""
    done = subprocess.run(
        [sys.executable, "-c", _CHILD],
        input=json.dumps({"names": list(NAMES.values()), "colours": COLOURS}),
        capture_output=True,
        check=True,
        text=True,
        timeout=60,
    )
    answered: dict[str, list[list[float]]] = json.loads(done.stdout)
    return answered


@pytest.mark.parametrize("sight", NAMES)
def test_each_dichromacy_is_as_published(
    sight: Sight, published: dict[str, list[list[float]]]
) -> None:
    """To the nearest code; theirs is not rounded."""
    for colour, expected in zip(COLOURS, published[NAMES[sight]], strict=True):
        for code, value in zip(seen(colour, sight), expected, strict=True):
            assert abs(code - value) <= 0.500001, (colour, sight)
