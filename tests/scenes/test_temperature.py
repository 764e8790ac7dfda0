"""The colour of a temperature; the published points are in tests/standards/test_css_color4.py."""

from __future__ import annotations

import pytest

from bridge.scenes.temperature import black_body, kelvin_to_colour

TEMPERATURES = [1000, 1667, 2200, 2700, 3000, 4000, 5000, 6500, 8000, 12_000, 20_000]


@pytest.mark.parametrize("kelvin", TEMPERATURES)
def test_it_is_as_bright_as_a_colour_can_be(kelvin: int) -> None:
    """Brightness is the scene's, so the colour itself is full."""
    assert max(kelvin_to_colour(kelvin)) == 255


def test_hotter_is_bluer() -> None:
    """Red falls or stays and blue rises or stays, all the way."""
    colours = [kelvin_to_colour(kelvin) for kelvin in TEMPERATURES]
    reds, blues = [colour[0] for colour in colours], [colour[2] for colour in colours]
    assert reds == sorted(reds, reverse=True)
    assert blues == sorted(blues)


@pytest.mark.parametrize("kelvin", [500, 1000, 100_000])
def test_no_temperature_overflows(kelvin: int) -> None:
    """Far outside what a lamp has, the sums stay finite and positive."""
    assert all(0 < part < float("inf") for part in black_body(kelvin))
