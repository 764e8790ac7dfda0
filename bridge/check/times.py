"""The longest time from an alarm's cause to its light, added up from what the files promise."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from bridge.check.alarms import printers_raising, segments_showing
from bridge.engine.events import HTTP_SOURCE
from bridge.engine.site import Printer, Segment, Site, segments_named
from bridge.facts.evaluation import rules_of
from bridge.facts.memory import (
    OUTCOME_WITHIN_MS,
    OWN_REASONS,
    STALLED,
    STALLED_AFTER_MS,
    VANISHED,
)
from bridge.facts.reader import Input, Message
from bridge.facts.vocabulary import STALE
from bridge.rules.alarm import Alarm
from bridge.rules.conditions import NumberIn, ReasonsHave

#: What the memory's facts are made of.
_MADE_OF: Final = {
    "time-in-state": "state",
    "time-unchanged": "progress",
    "last-job": "job",
    OWN_REASONS: "state",
}
#: How long the bridge itself waits before it says so.
_WAITS_MS: Final = {VANISHED.keyword: OUTCOME_WITHIN_MS, STALLED.keyword: STALLED_AFTER_MS}
#: Deciding, and waiting for a request that is on its way.
_BUDGET_MS: Final = 1000
#: MQTT 5.0 §3.1.2.10: a connection is lost after one and a half times its keep-alive.
_KEEP_ALIVES: Final = 1.5


@dataclass(frozen=True, slots=True)
class AlarmTime:
    """How long it can take at most, in ms: until it is heard, until it is raised, until it is sent.

    It holds for a controller that answers, and while no graver alarm shows.
    """

    alarm: str
    printer: str
    segment: str
    heard_ms: int
    raised_ms: int
    sent_ms: int

    @property
    def together_ms(self) -> int:
        """From the cause to the light."""
        return self.heard_ms + self.raised_ms + self.sent_ms


def alarm_times(site: Site) -> Iterator[AlarmTime]:
    """By alarm, printer and segment; escalation counts only where nothing shows it before."""
    for alarm in site.alarms.values():
        for segment in segments_showing(site, alarm):
            for name in printers_raising(site, alarm):
                if _tells_of(site, segment, alarm, name):
                    printer = site.printers[name]
                    yield AlarmTime(
                        alarm.name,
                        name,
                        segment.name,
                        _heard_ms(site, printer, alarm),
                        alarm.on_delay_ms
                        + _lasts_ms(alarm)
                        + _own_ms(alarm)
                        + _later_ms(site, segment, alarm, name),
                        _sent_ms(site, segment),
                    )


def _tells_of(site: Site, segment: Segment, alarm: Alarm, printer: str) -> bool:
    """A segment tells of its own printers; one that carries an alarm, of every printer."""
    return _carries(site, segment, alarm) or _shows(site, segment, alarm, printer)


def _shows(site: Site, segment: Segment, alarm: Alarm, printer: str) -> bool:
    """By its table, or because the alarm names it at once."""
    table = site.tables.get(segment.table or "")
    named = segment.name in segments_named(site, alarm.segments)
    by_table = table is not None and any(row.alarm == alarm.name for row in table.rows)
    return named or (by_table and printer in segment.printers)


def _carries(site: Site, segment: Segment, alarm: Alarm) -> bool:
    later = alarm.escalate.segments if alarm.escalate else ()
    return segment.name in segments_named(site, (*alarm.segments, *later))


def _later_ms(site: Site, segment: Segment, alarm: Alarm, printer: str) -> int:
    if alarm.escalate is None or _shows(site, segment, alarm, printer):
        return 0
    return alarm.escalate.after_ms


def _heard_ms(site: Site, printer: Printer, alarm: Alarm) -> int:
    facts = {condition.fact for condition in alarm.when}
    return max((_fact_ms(site, printer, fact) for fact in facts), default=0)


def _fact_ms(site: Site, printer: Printer, fact: str) -> int:
    """Until every message that the fact is read from has come again."""
    if fact == STALE.name:
        required = [each for each in printer.reader.messages.values() if each.required]
        return max((_silent_ms(site, printer, each) for each in required), default=0)
    rule = rules_of(printer.reader).get(_MADE_OF.get(fact, fact))
    if rule is None:
        return 0
    parts = [part for each in rule.alternatives for part in each.ratio or ()]
    messages = {each.message for each in rule.alternatives if not each.ratio}
    own = (_interval_ms(site, printer, printer.reader.messages[name]) for name in messages)
    return max((*own, *(_fact_ms(site, printer, part) for part in parts)), default=0)


def _silent_ms(site: Site, printer: Printer, message: Message) -> int:
    """Until a message counts as not heard."""
    return message.fresh_for_ms or _interval_ms(site, printer, message)


def _interval_ms(site: Site, printer: Printer, message: Message) -> int:
    inputs = [each for each in printer.inputs if each.message == message.name]
    return max((_input_ms(site, each, message) for each in inputs), default=0)


def _input_ms(site: Site, place: Input, message: Message) -> int:
    if place.source == HTTP_SOURCE:
        endpoint = site.endpoints[place.address]
        return max(endpoint.working_ms, endpoint.resting_ms) + endpoint.timeout_ms
    if message.every_ms is not None:
        return message.every_ms
    if message.fresh_for_ms is not None:
        return message.fresh_for_ms
    # What is published only when it changes comes at once, unless the connection is lost meanwhile.
    return int(site.brokers[place.source].keep_alive_s * 1000 * _KEEP_ALIVES)


def _lasts_ms(alarm: Alarm) -> int:
    """How long something must have been so, where the alarm asks for it."""
    least = (
        each.interval.least or 0.0
        for each in alarm.when
        if isinstance(each, NumberIn) and each.fact in _MADE_OF
    )
    return int(max(least, default=0.0) * 1000)


def _own_ms(alarm: Alarm) -> int:
    """How long the bridge waits with a reason of its own."""
    own = (each for each in alarm.when if isinstance(each, ReasonsHave))
    keywords = (keyword.keyword for each in own for keyword in each.keywords)
    return max((_WAITS_MS.get(keyword, 0) for keyword in keywords), default=0)


def _sent_ms(site: Site, segment: Segment) -> int:
    """A second, a slot of the limiter for each segment of the controller, and one time-out."""
    controller = site.controllers[segment.controller]
    limits = site.dialects[controller.dialect].limits
    slot = limits.window_ms / limits.requests if limits.requests else 0.0
    return int(_BUDGET_MS + slot * _beside(site.segments.values(), segment) + limits.timeout_ms)


def _beside(segments: Iterable[Segment], segment: Segment) -> int:
    return sum(each.controller == segment.controller for each in segments)
