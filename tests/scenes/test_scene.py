"""What a scene is, apart from its pixels."""

from __future__ import annotations

from bridge.scenes.scene import CALM_MS, PERIOD_BAND_MS, PERIOD_MS, Scene

BAR = Scene("filling", "well", "gauge", (0, 176, 96))


def test_what_fills_a_gauge() -> None:
    """All of a proportion, or the time that it says."""
    assert BAR.fills == 1.0
    assert Scene("left", "well", "gauge", (0, 176, 96), full_s=7200.0).fills == 7200.0


def test_the_rates_are_within_their_bands_and_what_is_calm_is_far_from_them() -> None:
    """Nobody takes a swell for a slow flash."""
    for rate, period_ms in PERIOD_MS.items():
        least, most = PERIOD_BAND_MS[rate]
        assert least <= period_ms <= most
    assert 2 * max(most for _, most in PERIOD_BAND_MS.values()) < CALM_MS
