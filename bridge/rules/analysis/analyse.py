"""Everything that can be found about one table, over the whole space of situations."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache, partial
from typing import Final

from bridge.facts.values import Facts
from bridge.rules.analysis.boxes import Budget, UndecidedError
from bridge.rules.analysis.coverage import gaps, never_deciding, places_deciding, subsumed
from bridge.rules.analysis.deciding import Deciding
from bridge.rules.analysis.finding import Kind, TableFinding
from bridge.rules.analysis.gravity import Milder, Milding
from bridge.rules.analysis.keywords import not_named, not_sent
from bridge.rules.analysis.offers import Offer, any_offer
from bridge.rules.analysis.overlaps import cutting_in, graver_overlaps, milder_overlaps
from bridge.rules.analysis.space import Place, Space
from bridge.rules.analysis.told import Cases, not_noticed
from bridge.rules.conditions import Condition
from bridge.rules.table import Row, Table

#: Steps that one question may take: about a second at 1500 rows, far less at a hundred.
STEPS: Final = 40_000
#: And how many times as much all of them together: a table that needs more is beyond reading too.
_TOGETHER: Final = 6


def analyse(
    table: Table,
    offers: Sequence[Offer],
    cases: Sequence[Facts] = (),
    named: Sequence[Condition] = (),
    steps: int = STEPS,
) -> tuple[TableFinding, ...]:
    """What is wrong with a table for these readers; without any, for every reader there could be.

    ``cases`` are the situations of its ``expect`` cases; ``named`` are conditions of alarms, whose
    reasons are not forgotten. Whether a row has lasted, how an alarm stands and what time it is
    are facts like others, free of one another: an alarm can be normal while what raises it is
    true (its on-delay, or shelved) and stand while it is not (its off-delay, or unacknowledged).
    """
    used = [_asking(table, offer, steps) for offer in offers]

    @cache
    def every() -> Deciding:
        facts = [condition.fact for row in table.rows for condition in row.when]
        return _asking(table, any_offer(facts), steps // 8 if used else steps)

    return tuple(_once(_findings(table, used, every, cases, named)))


def rows_deciding(
    table: Table, offers: Sequence[Offer], steps: int = STEPS
) -> tuple[tuple[Row, bool], ...]:
    """The rows that decide somewhere for one of these readers, and ``otherwise``.

    A row of an alarm may be there twice: while nobody acknowledged it (``True``), and after. What
    was not decided in so many steps is there.
    """
    found: dict[tuple[Row, bool], None] = {}
    for offer in offers:
        deciding = _asking(table, offer, steps)
        for place in places_deciding(deciding):
            found[place.row, place.number < deciding.space.cutting_in] = None
    return (*found, (table.otherwise, False))


def _asking(table: Table, offer: Offer, steps: int) -> Deciding:
    return Deciding(Space(table, offer), Budget(steps, steps * _TOGETHER))


def _once(found: Iterable[TableFinding]) -> Iterator[TableFinding]:
    """The findings, with what was not decided told once for each kind of question."""
    given_up: set[tuple[str, str]] = set()
    for finding in found:
        if finding.kind is Kind.NOT_DECIDED:
            if (finding.word, finding.offer) in given_up:
                continue
            given_up.add((finding.word, finding.offer))
        yield finding


def _findings(
    table: Table,
    used: Sequence[Deciding],
    every: Callable[[], Deciding],
    cases: Sequence[Facts],
    named: Sequence[Condition],
) -> Iterator[TableFinding]:
    asked = used or [every()]
    for deciding in asked:
        yield from gaps(deciding)
        yield from not_named(deciding.space, named)
    yield from not_sent(table, [deciding.space.offer for deciding in used])
    never = list(never_deciding(table, used, every))
    yield from never
    dead = {finding.row.name for finding in never}
    yield from (each for each in subsumed(table, asked) if each.row.name not in dead)
    told: set[tuple[str, str]] = set()
    for deciding in asked:
        yield from _milder(deciding, told)
    for deciding in asked:
        yield from milder_overlaps(deciding, told)
        yield from cutting_in(deciding, told)
    yield from graver_overlaps(asked)
    if cases:
        judged, seen = Cases(table, cases), set[tuple[str, str]]()
        for deciding in asked:
            yield from not_noticed(deciding, judged, seen)


def _milder(deciding: Deciding, told: set[tuple[str, str]]) -> Iterator[TableFinding]:
    milding = Milding(deciding)
    for shown, before, step in milding.by_reasons():
        find = partial(milding.with_reason, shown, before, step)
        yield from _asked(Kind.GRAVER_REASONS_MILDER, deciding, (shown, before), find, told)
    for shown, before, loss in milding.by_loss():
        find = partial(milding.with_loss, shown, before, loss)
        yield from _asked(Kind.LOST_FACT_MILDER, deciding, (shown, before), find, told)


def _asked(
    kind: Kind,
    deciding: Deciding,
    rows: tuple[Place, Place],
    find: Callable[[], Milder | None],
    told: set[tuple[str, str]],
) -> Iterator[TableFinding]:
    """What a question about two rows finds, unless they were told of already."""
    shown, before = (place.row for place in rows)
    if (shown.name, before.name) in told:
        return
    try:
        found = find()
    except UndecidedError:
        yield TableFinding(Kind.NOT_DECIDED, shown, before, word=kind.value)
        return
    if found is not None:
        told.add((shown.name, before.name))
        space = deciding.space
        yield TableFinding(
            kind,
            shown,
            before,
            space.offer.name,
            found.to_situation,
            found.from_situation,
            space.offered,
        )
