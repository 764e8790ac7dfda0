"""Painted flashes that a controller's limits do not carry."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.finding import Finding
from bridge.check.moving import moving_findings
from bridge.engine.site import Site
from tests.check.test_site import CLUB


def painting_only(requests: int) -> Site:
    """The club's bars without a flash of their own, with that many requests a second."""
    bars = CLUB.dialects["bars"]
    limits = replace(bars.limits, requests=requests)
    steady = replace(bars, effects={"steady": bars.effects["steady"]}, limits=limits)
    return replace(CLUB, dialects={**CLUB.dialects, "bars": steady})


def of_bars(site: Site) -> list[Finding]:
    """What is found about segments of that dialect."""
    return [each for each in moving_findings(site) if "(bars)" in each.message]


def test_flashes_of_the_controllers_own_are_never_painted() -> None:
    """So nothing is found about them."""
    assert list(moving_findings(CLUB)) == []


@pytest.mark.parametrize(
    ("requests", "words"),
    [
        # Two requests a period of 625 ms, in three quarters of it: 4.3 a second.
        (5, ""),
        (4, "only every 1250 ms instead of every 625 ms"),
        (2, "only every 2500 ms instead of every 1250 ms"),
        (1, "not at all, so that its brighter half stands still"),
    ],
)
def test_what_limits_do_not_carry_is_found(requests: int, words: str) -> None:
    """With what happens instead, once for each segment and each way."""
    found = of_bars(painting_only(requests))
    assert bool(found) is bool(words)
    assert not words or any(words in each.message for each in found)
    assert {each.severity for each in found} <= {"warning"}
