"""A finding: what is wrong with a site that can nevertheless run."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TypeAlias

from bridge.rules.table import Source, Table


class Kind(Enum):
    """What a finding is about."""

    EXPECT = "expect"
    RULE_NOT_EXPECTED = "rule-not-expected"
    GAP = "gap"
    MASKED = "masked"
    NEVER_DECIDES = "never-decides"
    SUBSUMED = "subsumed"
    OVERLAP = "overlap"
    MILDER = "milder"
    NOT_TOLD_APART = "not-told-apart"
    REASON_NOT_NAMED = "reason-not-named"
    REASON_NOT_SENT = "reason-not-sent"
    NOT_DECIDED = "not-decided"
    SCENE_NOT_USED = "scene-not-used"
    SCENE_NOT_WHOLE = "scene-not-whole"
    FACT_NOT_OFFERED = "fact-not-offered"
    REQUEST_TOO_LARGE = "request-too-large"
    NO_READ_BACK = "no-read-back"
    ALARM_NOT_SHOWN = "alarm-not-shown"
    ALARM_NEVER_RAISED = "alarm-never-raised"
    ACCEPTED_IN_VAIN = "accepted-in-vain"
    NOT_SHARED = "not-shared"
    SLOW_ROUND = "slow-round"
    HIDDEN = "hidden"
    GOES_ON_LYING = "goes-on-lying"
    POWER = "power"
    TOO_DIM = "too-dim"
    TOO_ALIKE = "too-alike"


About: TypeAlias = tuple[tuple[str, str], ...]


def about_table(table: Table, *rows: str) -> About:
    """A table and some of its rules."""
    return (("table", table.name), *(("rule", row) for row in rows))


@dataclass(frozen=True, slots=True)
class Finding:
    """``severity`` is ``error`` (the site does not do what it says), ``warning`` or ``note``.

    ``example`` is a situation that shows it, where there is one. ``about`` are the things that it
    is about, by their kind (``rule``, ``segment``, …); ``accepted`` is why somebody lives with it.
    """

    kind: Kind
    severity: str
    source: Source
    message: str
    example: str = ""
    about: About = ()
    accepted: str = ""

    def __str__(self) -> str:
        example = f" (for example: {self.example})" if self.example else ""
        accepted = f" (accepted: {self.accepted})" if self.accepted else ""
        return f"{self.source}: {self.severity}: {self.message}{example}{accepted}"
