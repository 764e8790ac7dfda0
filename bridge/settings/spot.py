"""A place in a file to which a problem can be put."""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge.rules.table import Source
from bridge.settings.document import Document, Path, Step
from bridge.settings.problems import Problem
from bridge.settings.wording import last_name


@dataclass(frozen=True, slots=True)
class Spot:
    """A path into a document, and where the problems found on the way are collected."""

    document: Document
    problems: list[Problem]
    path: Path = field(default=())

    def at(self, *steps: Step) -> Spot:
        """Further in."""
        return Spot(self.document, self.problems, (*self.path, *steps))

    def wrong(self, message: str) -> None:
        """Put a problem at the value; its sentence begins with the innermost key."""
        self._put(message, key=False)

    def wrong_key(self, message: str) -> None:
        """Put a problem at the key, which begins its sentence."""
        self._put(message, key=True)

    def _put(self, message: str, *, key: bool) -> None:
        mark = self.document.at(self.path, key=key)
        name = last_name(self.path)
        said = f"{name}: {message}" if name else message
        self.problems.append(Problem(self.document.file, *mark, said))

    @property
    def source(self) -> Source:
        """Where it is."""
        return self.document.source(self.path)
