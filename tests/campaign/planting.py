"""What it is to plant a bug."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

Plant = Callable[[pytest.MonkeyPatch], None]


@dataclass(frozen=True)
class Planted:
    """One bug, the promises that it breaks, and how many seeds may pass before it is caught.

    ``first`` is the seed to begin with, where earlier ones have nothing to say of it: for speed.
    """

    plant: Plant
    promises: tuple[str, ...]
    seeds: int = 20
    first: int = 1


def wrap(patch: pytest.MonkeyPatch, owner: type, name: str, around: Callable[..., Any]) -> None:
    """Replace a method by ``around``, which gets the original first."""
    original = getattr(owner, name)
    patch.setattr(owner, name, lambda self, *args, **named: around(original, self, *args, **named))
