"""What a segment should show by decision, and how much that weighs."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.lights.look import Look


@dataclass(frozen=True, slots=True)
class Desired:
    """A look and why it goes before others.

    ``gravity``: graver goes first. ``is_alarm``: it insists, whatever somebody else sets.
    ``is_new``: an alarm that nobody acknowledged yet. ``decision`` stays the same while only the
    inputs of its look move, as with a gauge. ``hands_back``: nothing is to be told, so that what
    was there before may come back, else this look.
    """

    look: Look
    gravity: int = 0
    is_alarm: bool = False
    is_new: bool = False
    decision: str = ""
    hands_back: bool = False
