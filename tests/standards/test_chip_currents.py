"""What a white strip draws, against the data sheets of pixel chips.

Sources: the chip makers' data sheets of WS2811, WS2812B, WS2813, WS2815 and SK6812, each maker's
own figure for one channel at its fullest and for a dark chip. What was read in a sheet, and what is
known of it at second hand only, stands beside each figure. The sums are done here, from those.

A strip at full white is borne by a supply of just what the sheet says and is dimmed by one that is
0.1 % weaker: this goes through the settings' own reading of the units, the scenes and the cap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

import pytest

from bridge.engine.powering import available_ua
from bridge.engine.site import Draws, Supply
from bridge.lights.dialect.dialect import Dialect
from bridge.lights.look import Native, Still
from bridge.lights.power import FULL, Load, drives_of, shares
from bridge.settings.quantities import CURRENT
from tests.engine.workroom import workroom
from tests.lights.board import PEGS

PIXELS = 12
WHITE = (255, 255, 255)
How = Literal["read", "second hand"]


@dataclass(frozen=True)
class Sheet:
    """One chip: milliamperes of a channel and of a dark pixel, as text, and how they are known."""

    chip: str
    channel: str
    channel_known: How
    idle: str
    idle_known: How


SHEETS = (
    Sheet("WS2811", "18.5", "read", "0.7", "second hand"),
    Sheet("WS2812B, least", "18", "second hand", "0.6", "second hand"),
    Sheet("WS2812B, most", "20", "second hand", "1", "second hand"),
    Sheet("WS2812B, low power", "12", "second hand", "1", "second hand"),
    Sheet("WS2813 A and B", "18", "read", "0.6", "read"),
    Sheet("WS2813 C and D", "5", "read", "0.2", "read"),
    Sheet("WS2815, most", "15", "second hand", "2.1", "second hand"),
    Sheet("SK6812", "20", "second hand", "1", "second hand"),
)


def scale_on(sheet: Sheet, limit_ma: Fraction, look: Native | Still) -> int:
    """How far a look on all twelve pixels is dimmed by a supply of so much."""
    draws = Draws(CURRENT.whole(f"{sheet.channel} mA"), CURRENT.whole(f"{sheet.idle} mA"))
    rail = replace(workroom().controllers["rail"], draws=draws)
    supply = Supply("cabinet", int(limit_ma * 1000), ("rail",))
    site = replace(workroom(), controllers={"rail": rail}, supplies={"cabinet": supply})
    load = Load("rail", drives_of(look, PIXELS, Dialect(PEGS)), draws.channel_ua)
    return shares([load], available_ua(site, supply)).sixteenths["rail"]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.chip)
@pytest.mark.parametrize("look", [Native("steady", WHITE, 1.0), Still(bytes(WHITE) * PIXELS)])
def test_full_white_draws_three_channels_and_the_chip(sheet: Sheet, look: Native | Still) -> None:
    """Twelve pixels of three channels, and twelve chips that draw their own."""
    whole_ma = PIXELS * (3 * Fraction(sheet.channel) + Fraction(sheet.idle))
    assert scale_on(sheet, whole_ma, look) == FULL
    assert scale_on(sheet, whole_ma * Fraction(999, 1000), look) < FULL


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.chip)
def test_one_colour_draws_one_channel(sheet: Sheet) -> None:
    """Full red is a third of what white draws beyond the chips' own."""
    red = Native("steady", (255, 0, 0), 1.0)
    whole_ma = PIXELS * (Fraction(sheet.channel) + Fraction(sheet.idle))
    assert scale_on(sheet, whole_ma, red) == FULL
    assert scale_on(sheet, whole_ma * Fraction(999, 1000), red) < FULL
