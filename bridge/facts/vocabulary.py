"""The words that every room shares: states, facts, their units, and what a scene may say.

Printer and job states are RFC 8011 §5.4.11 and §5.3.7; ``unknown`` and ``no-value`` are its
out-of-band values.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final, Literal, TypeAlias

STATES: Final = ("idle", "processing", "stopped")
JOB_STATES: Final = (
    "pending",
    "pending-held",
    "processing",
    "processing-stopped",
    "canceled",
    "aborted",
    "completed",
    "no-value",
)
LINK_STATES: Final = ("up", "down")
UNKNOWN_WORD: Final = "unknown"

Says: TypeAlias = Literal["resting", "well", "unknown", "notice", "act", "trouble"]

#: Mildest first: a scene further right is graver.
GRAVITY: Final[tuple[Says, ...]] = ("resting", "well", "unknown", "notice", "act", "trouble")
#: What a light may not go on saying once it stopped knowing.
COMFORTABLE: Final[frozenset[Says]] = frozenset({"resting", "well"})


class Kind(Enum):
    """What sort of value a fact has."""

    SYMBOL = "symbol"
    NUMBER = "number"
    TEXT = "text"
    REASONS = "reasons"
    TRUTH = "truth"


@dataclass(frozen=True, slots=True)
class FactName:
    """One fact: its name, its kind, its symbols or its unit, and the least and most it can be."""

    name: str
    kind: Kind
    symbols: tuple[str, ...] = ()
    unit: str = ""
    least: float | None = None
    most: float | None = None


def _temperature(part: str, role: str) -> FactName:
    # Absolute zero below, and far above anything a workroom machine reaches: outside is a
    # misread number, not a temperature.
    return FactName(f"{part}-{role}", Kind.NUMBER, unit="°C", least=-273.15, most=2000.0)


FACTS: Final[dict[str, FactName]] = {
    fact.name: fact
    for fact in (
        FactName("link", Kind.SYMBOL, LINK_STATES),
        FactName("state", Kind.SYMBOL, STATES),
        FactName("reasons", Kind.REASONS),
        FactName("job", Kind.SYMBOL, JOB_STATES),
        FactName("job-name", Kind.TEXT),
        FactName("progress", Kind.NUMBER, unit="", least=0.0, most=1.0),
        FactName("time-to-completion", Kind.NUMBER, unit="s", least=0.0),
        FactName("layer", Kind.NUMBER, unit="", least=0.0),
        FactName("layers", Kind.NUMBER, unit="", least=0.0),
        *(
            _temperature(part, role)
            for part in ("extruder", "platform", "chamber")
            for role in ("temperature", "setpoint")
        ),
    )
}
#: Facts from the bridge's own memory and clock, never given by a reader; times in seconds.
REMEMBERED: Final[dict[str, FactName]] = {
    fact.name: fact
    for fact in (
        FactName("last-job", Kind.SYMBOL, ("completed", "canceled", "aborted", "no-value")),
        FactName("time-in-state", Kind.NUMBER, unit="s", least=0.0),
        FactName("time-unchanged", Kind.NUMBER, unit="s", least=0.0),
    )
}
#: Facts about the hearing itself, never given by a reader.
STALE: Final = FactName("stale", Kind.TRUTH)
SITE_PREFIX: Final = "site-"
BRIDGE_PREFIX: Final = "bridge-"


def fact_named(name: str) -> FactName | None:
    """The fact of that name; a ``site-…`` fact is whatever its site makes of it."""
    if name == STALE.name:
        return STALE
    if name.startswith(SITE_PREFIX) and len(name) > len(SITE_PREFIX):
        return FactName(name, Kind.TEXT)
    return FACTS.get(name) or REMEMBERED.get(name)


def gravity(says: Says) -> int:
    """How grave a scene's message is; larger is graver."""
    return GRAVITY.index(says)
