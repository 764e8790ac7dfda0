"""The root of every error that a command may end with."""

from __future__ import annotations

from typing import ClassVar


class LampwrightError(Exception):
    """Something that a person can put right; a command shows its lines and ends with its code."""

    exit_code: ClassVar[int] = 2

    def lines(self) -> tuple[str, ...]:
        """What to show, one problem a line."""
        return (str(self),)
