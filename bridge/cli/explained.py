"""A picture explained: facts, the rule that decides, why not the earlier ones, the requests."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.engine.site import Printer, Site
    from bridge.engine.view import SegmentView, View


@dataclass(frozen=True, slots=True)
class Sent:
    """A request as it would go out."""

    method: str
    url: str
    headers: Mapping[str, str]
    body: str | None


@dataclass(frozen=True, slots=True)
class Explained:
    """One segment of the printer, and the requests that would show its look."""

    segment: SegmentView
    requests: tuple[Sent, ...]


def explained(site: Site, segments: Iterable[SegmentView]) -> tuple[Explained, ...]:
    """Segments with their requests."""
    return tuple(Explained(each, _requests(site, each)) for each in segments)


def _requests(site: Site, segment: SegmentView) -> tuple[Sent, ...]:
    from bridge.lights.dialect.dialect import Dialect
    from bridge.lights.rendering import render

    if segment.look is None:
        return ()
    controller = site.controllers[segment.controller]
    dialect = Dialect(site.dialects[controller.dialect])
    return tuple(
        Sent(
            each.method,
            controller.url.rstrip("/") + each.path,
            dict(each.headers),
            None if each.body is None else each.body.decode("utf-8"),
        )
        for each in render(dialect, site.segments[segment.name].place, segment.look)
    )


def _facts(printer: Printer, view: View) -> dict[str, str]:
    from bridge.rules.fact_words import fact_words

    facts = view.printers[printer.name].facts
    return {name: fact_words(name, facts[name]) for name in sorted(facts)}


def explained_json(
    printer: Printer | None, view: View, explained: Iterable[Explained]
) -> dict[str, object]:
    """What ``--json`` prints of a printer, or of segments without one."""
    return {
        "facts": {} if printer is None else _facts(printer, view),
        "segments": [
            {
                "segment": each.segment.name,
                "table": each.segment.table,
                "rule": each.segment.rule,
                "because": each.segment.because,
                "passed_over": [
                    {"rule": rule, "because": why} for rule, why in each.segment.passed_over
                ],
                "scene": each.segment.scene,
                "dimmed_by": each.segment.dimmed_by,
                "requests": [asdict(sent) for sent in each.requests],
            }
            for each in explained
        ],
    }


def printer_lines(printer: Printer, view: View) -> list[str]:
    """A printer's facts, and the words that its reader does not know."""
    known = view.printers[printer.name]
    facts = _facts(printer, view)
    width = max(map(len, facts), default=0)
    lines = [f"printer {printer.name} (reader {printer.reader.name})"]
    lines += [f"  {name:<{width}}  {value}" for name, value in facts.items()]
    lines += [f"  word without a mapping: '{each.word}' for {each.fact}" for each in known.words]
    return lines


def trouble_lines(printer: str, view: View) -> list[str]:
    """The messages of a printer that could not be taken, the last of each address."""
    return [f"  not taken: {each}" for each in view.printers[printer].troubles]


def decision_lines(
    passed_over: Iterable[tuple[str, str]], rule: str, because: str, scene: str
) -> list[str]:
    """Why not the rules above, which one decides, and what shows."""
    above = [f"  not   {name}: {why}" for name, why in passed_over]
    return [*above, f"  rule  {rule}: {because}", f"  shows {scene}"]


def segment_lines(explained: Iterable[Explained]) -> list[str]:
    """What decides for segments, what they show, and what would be sent for it."""
    lines: list[str] = []
    for each in explained:
        segment = each.segment
        table = f" (table {segment.table})" if segment.table else ""
        lines.append(f"segment {segment.name}{table}")
        dimmed = f", dimmed {segment.dimmed_by}" if segment.dimmed_by else ""
        lines += decision_lines(
            segment.passed_over, segment.rule or "none", segment.because, segment.scene + dimmed
        )
        for sent in each.requests:
            lines.append(f"  sends {sent.method} {sent.url}")
            lines += [f"        {sent.body}"] if sent.body is not None else []
    return lines
