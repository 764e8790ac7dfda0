"""What is found about supplies."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.power import power_findings
from bridge.engine.site import Draws, Site, Supply
from tests.check.test_site import CLUB


def with_limit(limit_ua: int, reserve_ua: int = 0) -> Site:
    """The club's door and shelf on one supply; 150 and 90 pixels of 12 mA a channel."""
    draws = Draws(12_000, 1000)
    controllers = {name: replace(each, draws=draws) for name, each in CLUB.controllers.items()}
    supply = Supply("cabinet", limit_ua, ("door", "rack"), reserve_ua)
    return replace(CLUB, controllers=controllers, supplies={"cabinet": supply})


@pytest.mark.parametrize(
    ("limit_ua", "severity", "words"),
    [
        (20_000_000, "note", "at worst its lights want"),
        (4_000_000, "warning", "so that alarms too are dimmed on door-frame"),
        (300_000, "error", "too much even when all are dimmed as far as can be"),
        (200_000, "error", "reserve and dark pixels draw more than its limit (0.04 A over)"),
    ],
)
def test_a_supply_is_held_to_what_hangs_on_it(limit_ua: int, severity: str, words: str) -> None:
    """At worst: every segment at the scene that draws most."""
    (found,) = power_findings(with_limit(limit_ua))
    assert found.severity == severity
    assert words in found.message
    assert "no fuse" in found.message


def test_without_supplies_nothing_is_found() -> None:
    """Nobody said what bears what."""
    assert list(power_findings(CLUB)) == []
