"""The judges of I6 know a flash and a current when they see one."""

from __future__ import annotations

import pytest

from tests.campaign.boards import Light
from tests.campaign.glare import Glare, luminance
from tests.campaign.ledger import BrokenPromiseError
from tests.campaign.meter import Meter
from tests.campaign.sites import CABINET, PACES, Strip

STRIP = Strip("brim", "hood", 1, 0, 2)


def grey(code: float) -> Light:
    """Two pixels of it."""
    return "steady", ((code, code, code),) * 2


def test_luminance() -> None:
    """The check values of WCAG's formula, computed by hand elsewhere."""
    assert luminance((255, 0xBF, 0)) == pytest.approx(0.58522, abs=1e-5)
    assert luminance((255, 0x64, 0)) == pytest.approx(0.30374, abs=1e-5)
    assert luminance((89, 89, 89)) < 0.1 < luminance((90, 90, 90))


def flash(dark: float, bright: float, every_ms: int, changes: int) -> None:
    """Let it change so often, that far apart."""
    glare = Glare()
    for number in range(changes + 1):
        glare.shows(STRIP, grey(bright if number % 2 else dark), number * every_ms)


@pytest.mark.parametrize(
    ("dark", "bright", "every_ms", "changes"),
    [
        (0, 255, 142, 8),  # four pairs within 994 ms
        (0, 90, 100, 9),
        (225, 255, 100, 9),  # .753 and 1
    ],
)
def test_four_flashes_in_a_second_are_too_many(
    dark: float, bright: float, every_ms: int, changes: int
) -> None:
    """Whatever their colour."""
    with pytest.raises(BrokenPromiseError, match="I6: brim flashed 4 times"):
        flash(dark, bright, every_ms, changes)


@pytest.mark.parametrize(
    ("dark", "bright", "every_ms", "changes"),
    [
        (0, 255, 179, 60),  # half a period of 2.8 Hz
        (0, 255, 10, 7),  # three, and a half
        (0, 89, 10, 60),  # less than 10 %
        (232, 255, 10, 60),  # the darker is .807
    ],
)
def test_what_is_no_general_flash(dark: float, bright: float, every_ms: int, changes: int) -> None:
    """Too slow, too few, too faint, or bright on both sides."""
    flash(dark, bright, every_ms, changes)


def test_a_step_up_in_parts_is_one_change() -> None:
    """From peak to valley, not from frame to frame."""
    glare = Glare()
    for number in range(60):
        glare.shows(STRIP, grey(min(255, number * 40 % 280)), number * 70)


def test_the_supply_is_metered() -> None:
    """Full white of the two pixels beside all that is dark, and what is excused."""
    idle_ua = sum(PACES[name].pixels for name in CABINET.feeds) * CABINET.idle_ua
    pixels = (CABINET.limit_ua - idle_ua) // (3 * CABINET.channel_ua) + 1
    white: Light = ("steady", ((255.0, 255.0, 255.0),) * pixels)
    meter = Meter(is_there=True)
    meter.shows(STRIP, white)
    meter.judge(0, lambda: 1000)
    meter.told(STRIP)
    with pytest.raises(BrokenPromiseError, match="I6: "):
        meter.judge(1, lambda: 1000)
    meter.said(too_much=True, now=2)
    meter.judge(5000, lambda: 1000)
    meter.said(too_much=False, now=5000)
    meter.judge(6000, lambda: 1000)
    with pytest.raises(BrokenPromiseError, match="I6: "):
        meter.judge(6001, lambda: 1000)
    meter.unlike(STRIP)
    meter.judge(6002, lambda: 1000)
