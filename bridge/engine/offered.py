"""What can be known of a printer: what its reader offers, and what the bridge makes of it."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.engine.site import Site
from bridge.facts.memory import OWN_REASONS
from bridge.facts.reader import Reader
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.conditions import LOCAL_TIME, Condition, SeverityAtLeast
from bridge.rules.decision import ALWAYS_OFFERED
from bridge.rules.table import ALARM_PREFIX, PROMPT_PREFIX

#: What the memory makes of which facts; one of them is enough.
_MADE_OF = {
    "time-in-state": ("state",),
    "time-unchanged": ("progress",),
    "last-job": ("job",),
    OWN_REASONS: ("state", "job"),
}


def offered_by(site: Site, reader: Reader) -> frozenset[str]:
    """The facts that count as offered: a rule that cannot judge one of them holds comfort back.

    An alarm or a prompt counts where every fact of its ``when`` does. ``local-time`` is nobody's.
    """
    own = remembered(reader) | reader.offers | ALWAYS_OFFERED
    alarms = (f"{ALARM_PREFIX}{each.name}" for each in site.alarms.values() if _judged(each, own))
    prompts = (
        f"{PROMPT_PREFIX}{each.name}" for each in site.prompts.values() if _judged(each, own)
    )
    lasting = (
        row.lasting.fact for table in site.tables.values() for row in table.rows if row.lasting
    )
    return own.union(alarms, prompts, lasting)


def remembered(reader: Reader) -> frozenset[str]:
    """The facts of the bridge's memory that this reader gives it something for."""
    return frozenset(
        name for name, parts in _MADE_OF.items() if not reader.offers.isdisjoint(parts)
    )


def applies(raised: Alarm | Prompt, reader: Reader) -> bool:
    """Whether a printer with this reader can ever raise it."""
    if not (remembered(reader) | reader.offers).isdisjoint(facts_of(raised.when)):
        return True
    # What the bridge finds itself is as severe as what a printer says.
    has_own = OWN_REASONS in remembered(reader)
    return has_own and any(isinstance(each, SeverityAtLeast) for each in raised.when)


def facts_of(conditions: Iterable[Condition]) -> frozenset[str]:
    """The facts that these conditions test."""
    return frozenset(condition.fact for condition in conditions)


def _judged(raised: Alarm | Prompt, own: frozenset[str]) -> bool:
    # Until the clock is known such an alarm is not: an instant at a start.
    return facts_of(raised.when) - {LOCAL_TIME} <= own
