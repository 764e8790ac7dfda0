"""What the analysis of a table finds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

from bridge.facts.values import FactValue
from bridge.rules.table import Row


class Kind(Enum):
    """What a finding is about. ``row`` and ``other`` are the finding's."""

    #: All that the reader offers is known, and only ``otherwise`` shows.
    GAP = "gap"
    #: Something is not known, and only ``otherwise`` shows.
    GAP_OF_UNKNOWN = "gap-of-unknown"
    #: ``row`` never decides, because of the rows above it (``other``, where it is one alone).
    MASKED = "masked"
    #: ``row`` has the very conditions of ``other`` above it.
    IDENTICAL = "identical"
    #: ``row`` is true just where ``other`` above it is.
    EQUIVALENT = "equivalent"
    #: ``row`` could decide, but for none of the readers that are used.
    NEVER_FOR_READERS = "never-for-readers"
    #: Without ``row`` the same scenes would show.
    SUBSUMED = "subsumed"
    #: Neither holds the other, and ``row`` shows something milder than ``other`` below it.
    OVERLAP_MILDER = "overlap-milder"
    #: ``row`` hides the graver ``other`` until somebody acknowledges its alarm.
    CUTS_IN = "cuts-in"
    #: Neither holds the other; ``count`` pairs of the table in which the graver one wins.
    OVERLAP = "overlap"
    #: With one reason more, or a graver one, ``row`` decides instead of the graver ``other``.
    GRAVER_REASONS_MILDER = "graver-reasons-milder"
    #: With something no longer known ``row`` reassures instead of the graver ``other``.
    LOST_FACT_MILDER = "lost-fact-milder"
    #: No case notices when ``row`` is taken away.
    NOT_NOTICED = "not-noticed"
    #: No case notices when ``row`` is moved past ``other``.
    NOT_TOLD_APART = "not-told-apart"
    #: A warning or an error (``word``) that the reader can give and no row is about.
    REASON_NOT_NAMED = "reason-not-named"
    #: A fault that the bridge itself finds (``word``) and no row is about.
    OWN_REASON_NOT_NAMED = "own-reason-not-named"
    #: A keyword (``word``) of ``row`` that no reader which is used can give.
    REASON_NOT_SENT = "reason-not-sent"
    #: The question about ``row`` (and ``other``) was given up for its size.
    NOT_DECIDED = "not-decided"


@dataclass(frozen=True, slots=True)
class TableFinding:
    """One finding about one table.

    ``situation`` with ``offered`` reproduces it through ``decide``; ``before`` is the situation
    that it came from. ``offer`` names the reader, or nothing for every reader there could be.
    """

    kind: Kind
    row: Row
    other: Row | None = None
    offer: str = ""
    situation: Mapping[str, FactValue] | None = None
    before: Mapping[str, FactValue] | None = None
    offered: frozenset[str] = field(default_factory=frozenset)
    word: str = ""
    count: int = 0
