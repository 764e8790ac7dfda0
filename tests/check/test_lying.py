"""What would go on lying after the board's own death is said, once for each controller."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bridge.check.lying import lying_findings
from bridge.engine.site import Access, Login, Site
from tests.check.test_site import CLUB
from tests.lights.mast import MAST


def controllers_of(site: Site) -> list[str]:
    """Those that something is found about."""
    return [name for each in lying_findings(site) for _, name in each.about]


def test_every_controller_whose_looks_stay_is_named() -> None:
    """With its segments; a lamp that tells of nothing is none of them."""
    found = list(lying_findings(CLUB))
    assert controllers_of(CLUB) == ["door", "rack", "bench"]
    assert "door-frame, door-sill would go on showing" in found[0].message
    assert {each.severity for each in found} == {"note"}


def test_looks_that_expire_do_not_lie_for_long() -> None:
    """The board's death shows by itself."""
    bars = replace(CLUB.dialects["bars"], lasts_ms=60_000)
    site = replace(CLUB, dialects={**CLUB.dialects, "bars": bars})
    assert controllers_of(site) == ["rack", "bench"]


def test_a_look_for_power_up_is_no_help_by_itself() -> None:
    """And that is said, as one might think so."""
    bars = replace(CLUB.dialects["bars"], boot=MAST.boot)
    site = replace(CLUB, dialects={**CLUB.dialects, "bars": bars})
    assert "helps only where its power goes too" in next(iter(lying_findings(site))).message


@pytest.mark.parametrize(
    ("access", "count"),
    [
        (Access(), 0),
        (Access("basic", "door"), 0),
        (Access("digest", "door"), 0),
        (Access("log-in", "door", login=Login("http://door.club.example/in", "/pass")), 0),
        (Access("log-in", "door", login=Login("http://door.club.example/in", "$.pass")), 1),
    ],
)
def test_what_the_stop_step_cannot_do_is_said(access: Access, count: int) -> None:
    """Where looks expire it does not matter."""
    door = replace(CLUB.controllers["door"], access=access)
    site = replace(CLUB, controllers={**CLUB.controllers, "door": door})
    found = [each.message for each in lying_findings(site) if "bridge crashed" in each.message]
    assert len(found) == count
    lasting = replace(CLUB.dialects["bars"], lasts_ms=60_000)
    site = replace(site, dialects={**site.dialects, "bars": lasting})
    assert "door" not in controllers_of(site)
