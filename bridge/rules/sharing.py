"""Several printers on one segment: which of them it speaks of, and when each has its turn."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

from bridge.facts.vocabulary import COMFORTABLE
from bridge.rules.table import Row, Table

#: Whoever glances over has to catch the mark and the scene: nothing changes faster than this.
LEAST_MS: Final = 3000
#: How long the mark shows that tells whose turn it is.
MARK_MS: Final = LEAST_MS

Showing: TypeAlias = Literal["mark", "scene"]


@dataclass(frozen=True, slots=True)
class Standing:
    """What a table decided for one printer of a segment.

    ``position`` is the row's place in the expanded table from 1, or 0 for ``otherwise``.
    ``active`` says that the row's alarm has not returned, ``since_ms`` since when it stands so.
    """

    printer: str
    position: int
    row: Row
    active: bool
    since_ms: int
    unacknowledged: bool


@dataclass(frozen=True, slots=True)
class Turn:
    """Whose turn it is (the place among the turns from 0), what shows, and until when."""

    index: int
    showing: Showing
    until_ms: int


def rank(table: Table, position: int) -> int:
    """The place of a row among what may show: lower is shown first.

    ``otherwise`` (position 0) ranks just above the first ``well`` or ``resting`` row, as a printer
    of which nothing is known may not hide behind one that is well.
    """
    return 2 * position if position else 2 * _first_comfortable(table) - 1


def worst(table: Table, standings: Iterable[Standing]) -> Standing:
    """The standing that shows, of at least one.

    The first by rank; within a row active before returned, then the oldest, then by name.
    """

    def precedence(standing: Standing) -> tuple[int, bool, int, str]:
        place = rank(table, standing.position)
        return place, not standing.active, standing.since_ms, standing.printer

    return min(standings, key=precedence)


def turns(standings: Iterable[Standing]) -> tuple[Standing, ...]:
    """Who shows in turn: the unacknowledged alarms alone where there are any, in name order."""
    everyone = sorted(standings, key=lambda standing: standing.printer)
    unseen = tuple(standing for standing in everyone if standing.unacknowledged)
    return unseen or tuple(everyone)


def turn_at(taking: Sequence[Standing], now_ms: int, t0_ms: int, dwell_ms: int) -> Turn:
    """What shows now of turns that began at ``t0_ms``, of at least one.

    Each turn is the mark for ``MARK_MS``, then the printer's scene for ``dwell_ms``, which counts
    as ``LEAST_MS`` where it is less.
    """
    turn_ms = turn_length_ms(dwell_ms)
    count, within_ms = divmod(now_ms - t0_ms, turn_ms)
    index = count % len(taking)
    if within_ms < MARK_MS:
        return Turn(index, "mark", now_ms - within_ms + MARK_MS)
    return Turn(index, "scene", now_ms - within_ms + turn_ms)


def turn_length_ms(dwell_ms: int) -> int:
    """How long one printer's turn is, its mark included."""
    return MARK_MS + max(dwell_ms, LEAST_MS)


def began_with(taking: Sequence[Standing], printer: str, now_ms: int, dwell_ms: int) -> int:
    """The ``t0_ms`` of turns in which that printer's scene begins to show now, without its mark.

    A new alarm does not wait for a mark, nor for the turns of others.
    """
    index = [standing.printer for standing in taking].index(printer)
    return now_ms - index * turn_length_ms(dwell_ms) - MARK_MS


def _first_comfortable(table: Table) -> int:
    """The position of the first row that reassures, one past the last where none does."""
    for position, row in enumerate(table.expanded, start=1):
        if row.says in COMFORTABLE:
            return position
    return len(table.expanded) + 1
