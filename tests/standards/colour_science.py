"""colour-science (the package of that name, BSD-3-Clause), asked in a process of its own.

It puts mocks of what it misses into ``sys.modules`` and brings numpy along: neither should be in
the process that runs the other tests.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from typing import Any, Final

_BEGIN: Final = """
import json, sys, warnings
warnings.simplefilter("ignore")
import colour
import colour.models
asked = json.load(sys.stdin)
"""
_CONVERT: Final = """
json.dump({
    name: [getattr(colour.models, name)(value).tolist() for value in values]
    for name, values in asked.items()
}, sys.stdout)
"""
_DIFFER: Final = """
one, other = zip(*asked)
json.dump(colour.delta_E(one, other, method="CIE 2000").tolist(), sys.stdout)
"""
_SEE: Final = """
from colour.blindness import matrix_cvd_Machado2009
json.dump([matrix_cvd_Machado2009(name, 1.0).tolist() for name in asked], sys.stdout)
"""
_LAB: Final = """
import numpy
srgb = colour.RGB_COLOURSPACES["sRGB"]
matrix = colour.normalised_primary_matrix(srgb.primaries, srgb.whitepoint)
json.dump(colour.XYZ_to_Lab(numpy.array(asked) @ matrix.T, srgb.whitepoint).tolist(), sys.stdout)
"""


def converted(
    asked: Mapping[str, Sequence[Sequence[float]]],
) -> dict[str, list[list[float]]]:
    """By the name of a conversion of its ``colour.models``, what each value becomes."""
    answered: dict[str, list[list[float]]] = _answered(_CONVERT, asked)
    return answered


def differences(pairs: Sequence[tuple[Sequence[float], Sequence[float]]]) -> list[float]:
    """CIEDE2000 between the two CIELAB colours of each pair."""
    answered: list[float] = _answered(_DIFFER, pairs)
    return answered


def dichromacies(kinds: Sequence[str]) -> list[list[list[float]]]:
    """Machado's matrices at severity 1.0, by its names (``Protanomaly`` and so on)."""
    answered: list[list[list[float]]] = _answered(_SEE, kinds)
    return answered


def labs(lights: Sequence[Sequence[float]]) -> list[list[float]]:
    """The CIELAB colour under D65 of linear sRGB."""
    answered: list[list[float]] = _answered(_LAB, lights)
    return answered


def _answered(question: str, asked: object) -> Any:  # noqa: ANN401 - what JSON holds
    done = subprocess.run(
        [sys.executable, "-c", _BEGIN + question],
        input=json.dumps(asked),
        capture_output=True,
        check=True,
        text=True,
        timeout=60,
    )
    return json.loads(done.stdout)
