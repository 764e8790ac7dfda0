"""The transfer curve of sRGB, all of it, against IEC 61966-2-1:1999 and colour-science 0.4.7.

The curve is the standard's clause 5.2 (from memory, as are its values): below 0.04045 a line of
slope 12.92, above it ((C' + 0.055) / 1.055) ^ 2.4; the way back has its border at 0.0031308. The
second witness reckons with numpy, apart from this code, and shares none of it.
"""

from __future__ import annotations

import itertools
from fractions import Fraction
from typing import Final

import pytest

from bridge.scenes.light import LIGHT, code_of, from_linear, mix, to_linear
from tests.standards.colour_science import converted

CODES: Final = [code / 255 for code in range(256)]
LIGHTS: Final = [light / 5000 for light in range(5001)]


@pytest.fixture(scope="module")
def science() -> dict[str, list[list[float]]]:
    """The curve both ways."""
    return converted({"eotf_sRGB": [CODES], "eotf_inverse_sRGB": [LIGHTS]})


def test_the_light_of_every_code(science: dict[str, list[list[float]]]) -> None:
    """All 256."""
    (lights,) = science["eotf_sRGB"]
    assert list(LIGHT) == pytest.approx(lights, abs=1e-9)


def test_the_code_of_light(science: dict[str, list[list[float]]]) -> None:
    """From nought to all of it, the line's end included."""
    (codes,) = science["eotf_inverse_sRGB"]
    assert [from_linear(light) for light in LIGHTS] == pytest.approx(codes, abs=1e-9)


def test_the_nearest_code(science: dict[str, list[list[float]]]) -> None:
    """What is nearest in code is found; at a tie's rounding error either neighbour is."""
    (codes,) = science["eotf_inverse_sRGB"]
    for light, code in zip(LIGHTS, codes, strict=True):
        assert abs(code_of(light) - code * 255) <= 0.5 + 1e-6, light


# The curve's own numbers (IEC 61966-2-1 clause 5.2, from memory), reckoned by hand from them: the
# line by division, the power where it is a whole one (0.055 of code 1 - 0.055 / 1.055 and so on).
BY_HAND = [
    (Fraction(1, 255), Fraction(1, 255) / Fraction("12.92")),
    (Fraction(10, 255), Fraction(10, 255) / Fraction("12.92")),
]


@pytest.mark.parametrize(("code", "light"), BY_HAND)
def test_the_line(code: Fraction, light: Fraction) -> None:
    """The dark end: codes up to ten are on it, eleven is not."""
    assert to_linear(float(code)) == pytest.approx(float(light), rel=1e-12)
    assert float(Fraction(10, 255)) <= 0.04045 < float(Fraction(11, 255))
    assert to_linear(11 / 255) != pytest.approx(11 / 255 / 12.92, rel=1e-6)


def test_the_power() -> None:
    """At 1.055 · 0.5 - 0.055 the base is a half: the light is 2 ^ -2.4 = 0.18946457..."""
    assert to_linear(1.055 * 0.5 - 0.055) == pytest.approx(0.189464570814, abs=1e-11)
    # 2^-2.4 by roots alone: the fifth root of 2^-12.
    assert pytest.approx(1 / 4096, rel=1e-10) == 0.189464570814**5


def test_the_two_pieces_meet() -> None:
    """The printed borders leave a gap far below a step of eight bits, and the curve only rises."""
    below, above = to_linear(0.04045), to_linear(0.04045 + 1e-9)
    assert abs(above - below) < 1e-7
    assert all(one < other for one, other in itertools.pairwise(LIGHT))


def test_every_code_comes_back() -> None:
    """Code to light to code."""
    assert [code_of(light) for light in LIGHT] == list(range(256))


@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 0.75, 1.0])
def test_a_mixture_is_of_light(share: float, science: dict[str, list[list[float]]]) -> None:
    """The edge of a gauge: so much of the one light and the rest of the other."""
    (lights,) = science["eotf_sRGB"]
    for one, other in itertools.product((0, 9, 60, 128, 200, 255), repeat=2):
        wanted = share * lights[one] + (1 - share) * lights[other]
        for channel in mix((one, one, one), (other, other, other), share):
            # The nearest code: the light of neither neighbour's border is passed.
            assert _border(channel - 1) - 1e-9 <= wanted <= _border(channel) + 1e-9


def _border(code: int) -> float:
    """Light half a step above a code, by the formula transcribed once more."""
    if code < 0:
        return 0.0
    if code >= 255:
        return 1.0
    share = (code + 0.5) / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)
