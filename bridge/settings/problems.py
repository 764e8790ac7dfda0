"""What is wrong with a site's files: one line a problem, all of them at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bridge.errors import LampwrightError
from bridge.one_line import one_line


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One mistake. ``file`` is relative to the site; line and column count from 1."""

    file: str
    line: int
    column: int
    message: str

    def __post_init__(self) -> None:
        """Keep to one line, whatever the file's own words hold."""
        object.__setattr__(self, "message", one_line(self.message))

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}: {self.message}"


class SettingsError(LampwrightError):
    """The files say something that cannot be; ``problems`` is sorted by file and line."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        # Printers that share a reader find the same mistake in it, and it is one.
        self.problems = tuple(sorted(set(problems)))
        super().__init__(f"{len(self.problems)} problems in the settings")

    def lines(self) -> tuple[str, ...]:
        """One line a problem."""
        return tuple(map(str, self.problems))
