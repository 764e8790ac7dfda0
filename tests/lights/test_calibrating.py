"""Looks are told as their strip needs them."""

from __future__ import annotations

import pytest

from bridge.lights.calibrating import calibrated
from bridge.lights.look import Look, Moving, Native, Still
from bridge.scenes.calibration import AS_IT_IS, Calibration

WARM = Calibration((255, 216, 176), 1.0)
STRAIGHT = Calibration(gamma=2.2)


def test_a_look_of_its_own_shows_the_same_product() -> None:
    """Colour and level each by the power."""
    look = calibrated(Native("steady", (255, 128, 0), 0.5), STRAIGHT)
    assert isinstance(look, Native)
    assert look.colour == (255, 56, 0)
    assert look.level == pytest.approx(0.5**2.2)


LOOKS: list[Look] = [
    Native("flash", (255, 128, 0), 0.5, "slow"),
    Still(bytes((255, 128, 1)) * 2, 400),
    Moving((bytes((255, 128, 1)), bytes(3)), (625, 1250)),
]


@pytest.mark.parametrize("look", LOOKS)
def test_where_nothing_is_to_be_done_nothing_is(look: Look) -> None:
    """The very look."""
    assert calibrated(look, AS_IT_IS) is look
    assert type(calibrated(look, WARM)) is type(look)
