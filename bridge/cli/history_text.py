"""History as people, programs and spreadsheets read it. Times are in the site's zone."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import UTC, datetime
from typing import Final
from zoneinfo import ZoneInfo

from bridge.engine.records import Happening
from bridge.one_line import one_line
from bridge.recording.history import AlarmSummary, PrinterSummary, Window

_UNITS: Final = (("d", 86_400_000), ("h", 3_600_000), ("m", 60_000), ("s", 1000), ("ms", 1))
_FIELDS: Final = tuple(field.name for field in fields(Happening) if field.name != "wall_ms")


@dataclass(frozen=True, slots=True)
class Told:
    """What is asked of history: its lines, and what all of it adds up to."""

    window: Window
    lines: Sequence[Happening]
    alarms: Sequence[AlarmSummary]
    printers: Sequence[PrinterSummary]


def duration_text(ms: int) -> str:
    """A length of time in the units of the site's files, its two largest: ``2m 5s``."""
    parts: list[str] = []
    for unit, size in _UNITS:
        count, ms = divmod(ms, size)
        if count or parts:
            parts.append(f"{count}{unit}" if count else "")
        if len(parts) == 2:
            break
    return " ".join(filter(None, parts)) or "0s"


def table(told: Told, zone: ZoneInfo) -> Iterator[str]:
    """For people: one line for each thing that happened, then the sums."""
    yield from _columns((_time(each, zone), _whose(each), _words(each)) for each in told.lines)
    if told.alarms:
        yield from ("", "alarms")
        yield from _columns((each.alarm, each.printer, _alarm(each)) for each in told.alarms)
    if told.printers:
        yield from ("", "printers")
        yield from _columns((each.printer, _printer(each)) for each in told.printers)


def sheet(told: Told, zone: ZoneInfo) -> Iterator[str]:
    """The lines as CSV (RFC 4180 but for its line ends), with their names in the first one."""
    yield _row(("at", *_FIELDS))
    for each in told.lines:
        yield _row((_iso(each.wall_ms, zone) or "", *(getattr(each, name) for name in _FIELDS)))


def plain(told: Told, zone: ZoneInfo) -> dict[str, object]:
    """For programs."""
    return {
        "since": _iso(told.window.since_ms, zone),
        "until": _iso(told.window.until_ms, zone),
        "lines": [
            {"at": _iso(each.wall_ms, zone), **{name: getattr(each, name) for name in _FIELDS}}
            for each in told.lines
        ],
        "alarms": [asdict(each) for each in told.alarms],
        "printers": [{**asdict(each), "unheard": each.unheard} for each in told.printers],
    }


def _row(cells: Iterable[object]) -> str:
    text = io.StringIO()
    cleaned = (one_line(each) if isinstance(each, str) else each for each in cells)
    csv.writer(text, lineterminator="").writerow(cleaned)
    return text.getvalue()


def _columns(rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    """All but the last of each row as wide as the widest."""
    kept = [tuple(map(one_line, row)) for row in rows]
    widths = [max(map(len, column)) for column in zip(*kept, strict=True)]
    for row in kept:
        *first, last = row
        padded = (f"{cell:{width}}" for cell, width in zip(first, widths, strict=False))
        yield "  ".join((*padded, last)).rstrip()


def _at(wall_ms: int, zone: ZoneInfo) -> datetime:
    return datetime.fromtimestamp(wall_ms / 1000, UTC).astimezone(zone)


def _iso(wall_ms: int | None, zone: ZoneInfo) -> str | None:
    return None if wall_ms is None else _at(wall_ms, zone).isoformat(timespec="milliseconds")


def _time(each: Happening, zone: ZoneInfo) -> str:
    if each.wall_ms is None:
        return "time not known"
    # With the zone: one hour of the year comes twice.
    return _at(each.wall_ms, zone).strftime("%Y-%m-%d %H:%M:%S %Z")


def _whose(each: Happening) -> str:
    return each.segment or each.printer or "-"


def _words(each: Happening) -> str:
    """What happened, because of what, and by whom."""
    said = _happened(each)
    if each.segment and each.printer:
        said += f" for {each.printer}"
    if each.who:
        said += f" by {each.who}"
    return f"{said}: {each.cause}" if each.cause else said


def _happened(each: Happening) -> str:
    match each.subject:
        case "segment":
            return f"shows {each.what}" + (f", rule '{each.name}'" if each.name else "")
        case "alarm" | "prompt":
            after = _after(each) if each.what in {"acknowledged", "collected"} else ""
            return f"{each.subject} {each.name} {each.what}{after}"
        case "job":
            at = "" if each.progress is None else f" at {each.progress:.0%}"
            return " ".join(filter(None, ("job", each.name, each.what))) + at + _after(each)
        case "hearing":
            return "facts are fresh" if each.what == "fresh" else "no fresh facts"
        case "hold":
            return f"{each.what} {each.name}".rstrip()
        case "start":
            return f"the bridge {each.what}"


def _after(each: Happening) -> str:
    return "" if each.after_ms is None else f" after {duration_text(each.after_ms)}"


def _alarm(each: AlarmSummary) -> str:
    said = f"raised {each.raised}, acknowledged {each.acknowledged}"
    if each.median_ms is not None and each.longest_ms is not None:
        median, longest = duration_text(each.median_ms), duration_text(each.longest_ms)
        said += f" (after {median} in the median, {longest} at most)"
    for count, words in ((each.chattering, "chattering"), (each.standing, "standing over a day")):
        said += f", {words} {count}" if count else ""
    return said


def _printer(each: PrinterSummary) -> str:
    jobs = _counted(each.outcomes) or "no job ended"
    if each.unheard is None:
        return f"{jobs}; nobody watched"
    return f"{jobs}; without fresh facts {each.unheard:.1%} of {duration_text(each.watched_ms)}"


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{what} {count}" for what, count in sorted(counts.items()))
