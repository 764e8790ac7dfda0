"""What shows while a person's wish is not yet written down.

A machine advances when its record is issued; what a lamp shows because of an acknowledgement, a
reset or a shelving waits until the record is on disk (or memory is off).
"""

from __future__ import annotations

from typing import Generic, TypeVar

Shown = TypeVar("Shown")


class Withheld(Generic[Shown]):
    """The look from before the first wish that still waits for its record."""

    def __init__(self) -> None:
        self._before: Shown | None = None
        self._numbers: set[int] = set()

    def withhold(self, number: int, before: Shown) -> None:
        """Go on showing ``before`` until change ``number`` is confirmed."""
        if not self._numbers:
            self._before = before
        self._numbers.add(number)

    def confirmed(self, number: int) -> None:
        """A change is written down; others may still wait."""
        self._numbers.discard(number)
        if not self._numbers:
            self._before = None

    def drop(self) -> None:
        """What happened since is graver, or ends it: showing that never waits."""
        self._numbers.clear()
        self._before = None

    def shown(self, live: Shown) -> Shown:
        """What shows where ``live`` is the state."""
        return live if self._before is None else self._before
