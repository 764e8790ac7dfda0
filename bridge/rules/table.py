"""The frozen shapes of a decision table (hit policy first, OMG DMN) and its ``expect`` cases."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bridge.facts.values import FactValue
from bridge.facts.vocabulary import Says
from bridge.rules.alarm_states import ALARM_SYMBOLS, QUIET_SYMBOLS, UNACKNOWLEDGED
from bridge.rules.compiled import Compiled
from bridge.rules.conditions import Condition, SymbolIs, TruthIs
from bridge.rules.prompt_states import PromptState

#: The facts that say how an alarm and a prompt stand begin with these.
ALARM_PREFIX: Final = "alarm "
PROMPT_PREFIX: Final = "prompt "
#: And those that say whether a row has lasted long enough.
LASTING_PREFIX: Final = "lasting "
#: The words of an alarm that stands, of one that nobody acknowledged, and of a prompt that waits.
STANDS: Final = frozenset(ALARM_SYMBOLS) - QUIET_SYMBOLS
UNSEEN: Final = frozenset(state.value for state in UNACKNOWLEDGED)
WAITS: Final = frozenset({PromptState.WAITING.value})


@dataclass(frozen=True, slots=True)
class Source:
    """Where something was written, for findings: ``file`` relative to the site, 1-based."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True)
class Lasting:
    """A row's ``when`` must have held for ``for_ms`` without a break; ``fact`` says so."""

    fact: str
    for_ms: int
    text: str


@dataclass(frozen=True, slots=True)
class Row:
    """One rule. All of ``when`` must be true; none means always. ``says`` is its scene's.

    ``cuts_in`` is the copy of an alarm's row that stands before all rows as written, for as long
    as nobody has acknowledged the alarm.
    """

    name: str
    when: tuple[Condition, ...]
    show: str
    says: Says
    source: Source
    lasting: Lasting | None = None
    cuts_in: bool = False

    @property
    def tested(self) -> tuple[Condition, ...]:
        """What the matcher tests: ``when``, and that it has lasted."""
        if self.lasting is None:
            return self.when
        return (*self.when, TruthIs(self.lasting.fact, wanted=True, text=self.lasting.text))

    @property
    def alarm(self) -> str | None:
        """The alarm that it is about: its scene answers as that alarm's sequence says."""
        return next((name for name in map(_alarm_of, self.when) if name is not None), None)


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

    It is read as ``expanded``: the rows of unacknowledged alarms first, in their written order,
    then all rows as written, so that a new alarm always cuts in over an acknowledged one.
    ``compiled`` is made of that: a table is compiled where it is made, and never again.
    """

    name: str
    rows: tuple[Row, ...]
    otherwise: Row
    expect: tuple[Expect, ...] = ()
    expanded: tuple[Row, ...] = field(init=False, repr=False, compare=False)
    compiled: Compiled = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Expand and compile."""
        expanded = (*_cutting_in(self.rows), *self.rows)
        object.__setattr__(self, "expanded", expanded)
        object.__setattr__(self, "compiled", Compiled(self.name, expanded, self.otherwise))


def alarm_stands(name: str) -> SymbolIs:
    """``alarm: NAME``: true in every state except normal, shelved and out of service."""
    return SymbolIs(f"{ALARM_PREFIX}{name}", STANDS, text=f"{ALARM_PREFIX}{name}")


def prompt_stands(name: str) -> SymbolIs:
    """``prompt: NAME``: true while it waits."""
    return SymbolIs(f"{PROMPT_PREFIX}{name}", WAITS, text=f"{PROMPT_PREFIX}{name}")


def lasting_for(table: str, row: str, for_ms: int, text: str) -> Lasting:
    """A row that must have lasted; ``text`` is the time in the words of the file."""
    return Lasting(f"{LASTING_PREFIX}{table}/{row}", for_ms, f"it lasted {text}")


def _alarm_of(condition: Condition) -> str | None:
    if isinstance(condition, SymbolIs) and condition.fact.startswith(ALARM_PREFIX):
        return condition.fact.removeprefix(ALARM_PREFIX)
    return None


def _cutting_in(rows: Sequence[Row]) -> Iterator[Row]:
    for row in rows:
        if row.alarm is not None:
            yield replace(row, when=tuple(map(_unacknowledged, row.when)), cuts_in=True)


def _unacknowledged(condition: Condition) -> Condition:
    name = _alarm_of(condition)
    if name is None or not isinstance(condition, SymbolIs):
        return condition
    text = f"{condition.fact}, not acknowledged"
    return SymbolIs(condition.fact, condition.wanted & UNSEEN, text=text)
