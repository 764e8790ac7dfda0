"""The frozen shapes of a decision table (hit policy first, OMG DMN) and its ``expect`` cases."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from bridge.facts.values import FactValue
from bridge.facts.vocabulary import Says
from bridge.rules.compiled import Compiled
from bridge.rules.conditions import Condition


@dataclass(frozen=True, slots=True)
class Source:
    """Where something was written, for findings: ``file`` relative to the site, 1-based."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Row:
    """One rule. All of ``when`` must be true; none means always. ``says`` is its scene's."""

    name: str
    when: tuple[Condition, ...]
    show: str
    says: Says
    source: Source


@dataclass(frozen=True, slots=True)
class Expect:
    """A case beside the rules: in this situation, this scene.

    What is not given: fresh, link up, no reasons; any other fact as if no reader offered it.
    """

    given: Mapping[str, FactValue]
    shows: str
    source: Source


@dataclass(frozen=True, slots=True)
class Table:
    """Rows in order of precedence, and what shows when none fires.

    ``compiled`` is made of them: a table is compiled where it is made, and never again.
    """

    name: str
    rows: tuple[Row, ...]
    otherwise: Row
    expect: tuple[Expect, ...] = ()
    compiled: Compiled = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Compile."""
        object.__setattr__(self, "compiled", Compiled(self.name, self.rows, self.otherwise))
