"""``lampwright history``: what happened, when and why, and what it adds up to."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError
from bridge.one_line import one_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from zoneinfo import ZoneInfo

    from bridge.cli.history_text import Told
    from bridge.engine.records import Happening
    from bridge.recording.history import Window
    from bridge.service.journal_store import Kept


class HistoryError(LampwrightError):
    """Nothing that is asked for can be told."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "history",
        help=COMMANDS["history"],
        description="Reads the journal of a site, also while the bridge runs: every change of what "
        "a segment shows with its cause, alarms, jobs, holds and starts, then the sums. What "
        "happened within the last minute may not be written yet.",
        epilog="example: lampwright history config --since 12h --printer kestrel",
    )
    add_site(parser)
    parser.add_argument("--printer", metavar="P", help="only what is about this printer")
    parser.add_argument("--segment", metavar="S", help="only what is about this segment")
    parser.add_argument("--alarm", metavar="A", help="only what is about this alarm or prompt")
    parser.add_argument(
        "--since",
        metavar="TIME",
        help="so long ago (2h), or from a date and time (2026-11-25T18:00)",
    )
    parser.add_argument("--until", metavar="TIME", help="as --since, the instant not included")
    parser.add_argument(
        "--journal", metavar="FILE", type=Path, help="the journal, if not where the site keeps it"
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="for programs")
    form.add_argument("--csv", action="store_true", help="only the lines, for a spreadsheet")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Tell."""
    import json
    import os
    import time

    from bridge.cli.history_text import plain, sheet, table
    from bridge.recording.history import Window
    from bridge.service.journal_place import journal_path
    from bridge.service.lock import site_lock

    directory = site_directory(arguments.site)
    zone, printers = _site(directory)
    now_ms = time.time_ns() // 1_000_000
    window = Window(
        _instant(arguments.since, "--since", zone, now_ms),
        _instant(arguments.until, "--until", zone, now_ms),
    )
    if window.since_ms is not None and (window.until_ms or now_ms) <= window.since_ms:
        end = f"--until {arguments.until}" if arguments.until else "now"
        raise HistoryError(f"--since {arguments.since} is not before {end}")
    runs = site_lock(directory).held_elsewhere()
    path = arguments.journal or journal_path(directory, os.environ)
    told = _told(path, arguments, printers, window, now_ms if runs else None)
    if arguments.json:
        print(json.dumps(plain(told, zone)))
        return 0
    for line in (sheet if arguments.csv else table)(told, zone):
        print(line)
    if not told.lines and not arguments.csv:
        print(one_line(f"{path}: nothing of what is asked for happened"))
    return 0


def _site(directory: Path) -> tuple[ZoneInfo, frozenset[str] | None]:
    """Zone and printers; history is told even where the files are just being edited."""
    import sys
    from zoneinfo import ZoneInfo

    from bridge.settings.load import load_site
    from bridge.settings.problems import SettingsError

    try:
        site = load_site(directory)
    except SettingsError:
        why = f"{directory}: the site has errors (see lampwright check), so times are in UTC"
        print(one_line(why), file=sys.stderr)
        return ZoneInfo("UTC"), None
    return site.zone, frozenset(site.printers)


def _told(
    path: Path,
    arguments: argparse.Namespace,
    printers: frozenset[str] | None,
    window: Window,
    running_until_ms: int | None,
) -> Told:
    from bridge.cli.history_text import Told
    from bridge.recording.history import Chosen, alarm_summaries, chosen, printer_summaries
    from bridge.service.journal_file import read_journal

    if not path.exists():
        raise HistoryError(_missing(path))
    kept, lines = read_journal(path)
    known_ms = running_until_ms or _known_until_ms(kept, lines)
    asked = Chosen(arguments.printer, arguments.segment, arguments.alarm)
    if printers is None:
        printers = frozenset(each.printer for each in lines if each.printer)
    _refuse_unknown("printer", asked.printer, printers | {each.printer for each in lines})
    _refuse_unknown("segment", asked.segment, (each.segment for each in lines))
    alarms = (each.name for each in lines if each.subject in {"alarm", "prompt"})
    _refuse_unknown("alarm or prompt", asked.alarm, alarms)
    about = [each for each in lines if asked.has(each)]
    if asked.segment or asked.alarm:
        printers = frozenset()
    elif asked.printer is not None:
        printers = frozenset({asked.printer})
    return Told(
        window,
        chosen(lines, asked, window),
        alarm_summaries(about, window, known_ms),
        printer_summaries(lines, printers, window, known_ms),
    )


def _known_until_ms(kept: Kept, lines: Sequence[Happening]) -> int:
    """How far history reaches where no bridge runs: to its last line, or until all was heard."""
    times = [each.wall_ms for each in lines if each.wall_ms is not None]
    return max([*times[-1:], kept.heard_until_wall_ms or 0])


def _refuse_unknown(what: str, name: str | None, known: Iterable[str]) -> None:
    from bridge.settings.nearest import meant

    names = set(known) - {""}
    if name is not None and name not in names:
        raise HistoryError(f"history knows no {what} '{name}'{meant(name, names)}")


def _missing(path: Path) -> str:
    from bridge.service.journal_place import OF_THE_SERVICE

    said = f"{path}: there is no journal, so the site has not been run with one"
    of_service = Path("/var/lib/lampwright") / OF_THE_SERVICE
    if of_service.exists():
        return f"{said} by this user; name the service's with --journal {of_service}"
    return f"{said}; name one with --journal FILE"


def _instant(text: str | None, option: str, zone: ZoneInfo, now_ms: int) -> int | None:
    """So long ago, or a date and time of ISO 8601, without an offset in the site's zone."""
    from datetime import datetime
    from re import fullmatch

    from bridge.settings.quantities import DURATION

    if text is None:
        return None
    if fullmatch(DURATION.pattern, text):
        return max(0, now_ms - int(DURATION.read(text)))
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise HistoryError(
            f"{option} '{text}' is no time; write so long ago, for example 2h, or a date and "
            "time, for example 2026-11-25T18:00"
        ) from None
    if not 1970 < at.year < 9999:
        raise HistoryError(f"{option} '{text}' is out of range, expected a year after 1970")
    return int((at if at.tzinfo else at.replace(tzinfo=zone)).timestamp() * 1000)
