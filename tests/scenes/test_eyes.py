"""What each sight makes of colours; the matrices themselves are held in tests/standards."""

from __future__ import annotations

import pytest

from bridge.scenes.difference import difference
from bridge.scenes.eyes import SIGHTS, labs_of, simulated
from bridge.scenes.light import LIGHT
from bridge.scenes.scene import Colour
from bridge.scenes.sight import DICHROMACIES, Sight


@pytest.mark.parametrize("sight", SIGHTS)
@pytest.mark.parametrize("code", range(0, 256, 15))
def test_greys_look_as_they_are_to_every_sight(sight: Sight, code: int) -> None:
    """What lacks no colour lacks none to who lacks a cone."""
    light = (LIGHT[code], LIGHT[code], LIGHT[code])
    assert simulated(light, sight) == pytest.approx(light, abs=2e-6)
    grey = labs_of((code, code, code))
    assert difference(grey[0], grey[SIGHTS.index(sight)]) < 0.01


def test_normal_sight_sees_what_is_there() -> None:
    """It is the first."""
    assert SIGHTS[0] == "normal"
    assert simulated((0.1, 0.7, 0.3), "normal") == (0.1, 0.7, 0.3)
    assert set(SIGHTS[1:]) == set(DICHROMACIES)


def _apart(one: Colour, other: Colour) -> dict[Sight, float]:
    pairs = zip(SIGHTS, labs_of(one), labs_of(other), strict=True)
    return {sight: difference(a, b) for sight, a, b in pairs}


def test_who_sees_no_red_or_no_green_confuses_those_two() -> None:
    """Blue against yellow, every one of them keeps apart."""
    apart = _apart((200, 100, 0), (110, 140, 0))
    assert apart["normal"] > 30
    assert min(apart["protanopia"], apart["deuteranopia"]) < 15
    assert apart["tritanopia"] > 30
    assert min(_apart((0, 80, 255), (255, 200, 0)).values()) > 40


def test_red_is_dark_to_who_sees_no_red() -> None:
    """And no darker than it is to the others."""
    protan, deutan = (
        labs_of((255, 0, 0))[SIGHTS.index(sight)] for sight in ("protanopia", "deuteranopia")
    )
    assert protan[0] < 45 < deutan[0]
