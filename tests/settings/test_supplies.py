"""Supplies, and what the pixels on them draw."""

from __future__ import annotations

from pathlib import Path

from bridge.engine.site import Draws
from bridge.settings.load import load_site
from tests.settings.copies import copy_of_good


def test_a_supply_and_its_pixels_are_read(tmp_path: Path) -> None:
    """In microamperes, whatever unit is written."""
    site = copy_of_good(tmp_path)
    file = site / "site.yaml"
    text = file.read_text("utf-8").replace(
        "pixels: 180", "pixels: 180, draws: {channel: 18.5 mA, idle: 700 µA}"
    )
    file.write_text(
        text.rstrip() + "\nsupplies: {cabinet: {limit: 10 A, feeds: [door]}}\n", "utf-8"
    )
    loaded = load_site(site)
    assert loaded.controllers["door"].draws == Draws(18_500, 700)
    cabinet = loaded.supplies["cabinet"]
    assert (cabinet.limit_ua, cabinet.reserve_ua, cabinet.feeds) == (10_000_000, 0, ("door",))
