"""Alarms and prompts that nobody would see, or that nothing can raise."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.finding import Finding, Kind
from bridge.check.tables import offer_for
from bridge.engine.offered import offered_by
from bridge.engine.site import Segment, Site, segments_named
from bridge.rules.alarm import Alarm, Prompt
from bridge.rules.analysis.keywords import never_sent
from bridge.rules.table import ALARM_PREFIX, PROMPT_PREFIX


def alarm_findings(site: Site) -> Iterator[Finding]:
    """One for each alarm or prompt that is not seen, is never raised, or waits in vain."""
    raised: list[Alarm | Prompt] = [*site.alarms.values(), *site.prompts.values()]
    for each in raised:
        if not any(segments_showing(site, each)):
            yield _not_shown(each)
        elif not any(printers_raising(site, each)):
            yield _finding(
                each,
                Kind.ALARM_NEVER_RAISED,
                "warning",
                "is never raised: no printer's reader offers every fact that it is raised by",
            )
        yield from _waiting_in_vain(site, each)


def _waiting_in_vain(site: Site, raised: Alarm | Prompt) -> Iterator[Finding]:
    offers = {each.reader.name: offer_for(site, each.reader) for each in site.printers.values()}
    for keyword in never_sent(raised.when, tuple(offers.values())):
        yield _finding(
            raised,
            Kind.REASON_NOT_SENT,
            "warning",
            f"waits for {keyword}, which no reader ever tells: name what they do",
        )


def segments_showing(site: Site, raised: Alarm | Prompt) -> Iterator[Segment]:
    """The segments that show it: their table names it, or the alarm names them."""
    carried = _carrying(site, raised) if isinstance(raised, Alarm) else frozenset()
    for segment in site.segments.values():
        table = site.tables.get(segment.table or "")
        facts = {each.fact for row in table.rows for each in row.when} if table else set()
        if segment.name in carried or fact_of(raised) in facts:
            yield segment


def _carrying(site: Site, alarm: Alarm) -> frozenset[str]:
    later = alarm.escalate.segments if alarm.escalate else ()
    return frozenset(segments_named(site, (*alarm.segments, *later)))


def printers_raising(site: Site, raised: Alarm | Prompt) -> Iterator[str]:
    """The printers whose readers offer every fact that it is raised by."""
    for printer in site.printers.values():
        if fact_of(raised) in offered_by(site, printer.reader):
            yield printer.name


def fact_of(raised: Alarm | Prompt) -> str:
    """The fact that says how it stands."""
    return f"{ALARM_PREFIX if isinstance(raised, Alarm) else PROMPT_PREFIX}{raised.name}"


def _not_shown(raised: Alarm | Prompt) -> Finding:
    if isinstance(raised, Alarm):
        how = "let a rule name it, or give it segments"
        return _finding(raised, Kind.ALARM_NOT_SHOWN, "error", f"is shown nowhere: {how}")
    return _finding(raised, Kind.ALARM_NOT_SHOWN, "error", "is shown nowhere: let a rule name it")


def _finding(raised: Alarm | Prompt, kind: Kind, severity: str, said: str) -> Finding:
    what = "alarm" if isinstance(raised, Alarm) else "prompt"
    about = ((what, raised.name),)
    return Finding(kind, severity, raised.source, f"{what} {raised.name} {said}", about=about)
