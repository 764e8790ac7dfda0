"""What shows while a wish waits for its record."""

from __future__ import annotations

from bridge.rules.withheld import Withheld


def test_waits_for_all() -> None:
    """The look from before the first wish, until the last one is confirmed."""
    held: Withheld[str] = Withheld()
    assert held.shown("live") == "live"
    held.withhold(1, "flashing")
    held.withhold(2, "steady")
    assert held.shown("live") == "flashing"
    held.confirmed(1)
    assert held.shown("live") == "flashing"
    held.confirmed(2)
    assert held.shown("live") == "live"


def test_a_stray_confirmation() -> None:
    """Of a change that does not wait, or twice, is nothing."""
    held: Withheld[str] = Withheld()
    held.confirmed(7)
    held.withhold(8, "flashing")
    held.confirmed(7)
    assert held.shown("live") == "flashing"


def test_dropped() -> None:
    """What is graver shows at once, and a late confirmation changes nothing."""
    held: Withheld[str] = Withheld()
    held.withhold(1, "flashing")
    held.drop()
    assert held.shown("live") == "live"
    held.withhold(2, "steady")
    held.confirmed(1)
    assert held.shown("live") == "steady"
