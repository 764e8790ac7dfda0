"""``lampwright check``: every problem and every finding of a site."""

from __future__ import annotations

import argparse
import difflib
import json
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.errors import LampwrightError
from bridge.one_line import one_line

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from bridge.check.finding import Finding
    from bridge.check.matrix import Matrix
    from bridge.check.times import AlarmTime
    from bridge.check.visit import Visit
    from bridge.engine.site import Site
    from bridge.settings.problems import Problem


class NoTableError(LampwrightError):
    """A table was named that the rules do not have."""

    def __init__(self, name: str, known: Iterable[str]) -> None:
        near = difflib.get_close_matches(name, list(known), n=1)
        hint = f"; did you mean '{near[0]}'?" if near else ""
        super().__init__(f"'{name}' is no table of rules.yaml{hint}")


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "check",
        help=COMMANDS["check"],
        description="Reads every file of the site, says every problem as file:line:column, runs "
        "the expect cases and looks for what the files say together. Exit code 1 with errors or "
        "warnings, 2 where the files cannot be used.",
        epilog="example: lampwright check config",
    )
    add_site(parser)
    parser.add_argument("--json", action="store_true", help="for programs")
    parser.add_argument(
        "--times", action="store_true", help="how long each alarm can take from cause to light"
    )
    parser.add_argument(
        "--matrix",
        action="store_true",
        help="what shows: states down, reasons and freshness across",
    )
    parser.add_argument(
        "--live",
        action="store_true",
        help="also visit every controller, changing nothing: who it is, what it shows, what the "
        "bridge would change",
    )
    parser.add_argument("--table", metavar="NAME", help="the one table that --matrix draws")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what is found."""
    from bridge.check.accepting import how_to_accept
    from bridge.check.site import findings
    from bridge.cli.live import visit_lines, visit_value
    from bridge.settings.load import load_site
    from bridge.settings.problems import SettingsError

    directory = site_directory(arguments.site)
    try:
        site = load_site(directory)
    except SettingsError as error:
        if not arguments.json:
            raise
        print(json.dumps({"ok": False, "findings": [_problem(each) for each in error.problems]}))
        return error.exit_code
    if arguments.table is not None and arguments.table not in site.tables:
        raise NoTableError(arguments.table, site.tables)
    visits = _visited(directory, site) if arguments.live else []
    found = findings(site)
    bad = [each for each in found if each.severity != "note"]
    if arguments.json:
        value = _value(site, found, arguments)
        if arguments.live:
            value["live"] = [visit_value(visit) for visit in visits]
            value["ok"] = value["ok"] and not any(visit.wrong for visit in visits)
        print(json.dumps(value))
        return 0 if value["ok"] else 1
    if arguments.times or arguments.matrix:
        _draw(site, arguments)
    for line in visit_lines(site, visits):
        print(one_line(line))
    for each in found:
        print(one_line(str(each)))
    if accepting := how_to_accept(found):
        print(one_line(f"what is as it should be may be accepted in rules.yaml: {accepting}"))
    bad_visits = sum(len(visit.wrong) for visit in visits)
    counted = (
        f"{len(site.printers)} printers, {len(site.controllers)} controllers, "
        f"{len(site.segments)} segments, {sum(len(t.rows) for t in site.tables.values())} rules, "
        f"{sum(len(t.expect) for t in site.tables.values())} expect cases"
    )
    count = len(bad) + bad_visits
    print(
        f"{directory}: {count} to mend ({counted})" if count else f"{directory}: fine ({counted})"
    )
    return 1 if count else 0


def _visited(directory: Path, site: Site) -> list[Visit]:
    import asyncio
    import os

    from bridge.service.visiting import take_site, visit_all

    take_site(directory, "its log and 'lampwright alarms' say how they are")
    return asyncio.run(visit_all(site, os.environ))


def _draw(site: Site, arguments: argparse.Namespace) -> None:
    import os
    import sys

    from bridge.check.times import alarm_times
    from bridge.cli.check_tables import matrix_lines, times_lines
    from bridge.cli.drawing import colours_for

    if arguments.times:
        print("\n".join(map(one_line, times_lines(list(alarm_times(site))))), end="\n\n")
    for matrix in _matrices(site, arguments):
        colours = colours_for(sys.stdout, os.environ)
        print("\n".join(matrix_lines(site, matrix, colours)), end="\n\n")


def _matrices(site: Site, arguments: argparse.Namespace) -> Iterator[Matrix]:
    from bridge.check.matrix import matrix_of

    for name, table in site.tables.items() if arguments.matrix else ():
        if arguments.table in {None, name}:
            yield matrix_of(site, table)


def _value(
    site: Site, found: Sequence[Finding], arguments: argparse.Namespace
) -> dict[str, object]:
    from bridge.check.times import alarm_times

    value: dict[str, object] = {
        "ok": all(each.severity == "note" for each in found),
        "findings": [_finding(each) for each in found],
    }
    if arguments.times:
        value["times"] = [_time(each) for each in alarm_times(site)]
    if arguments.matrix:
        value["matrix"] = [_matrix(each) for each in _matrices(site, arguments)]
    return value


def _time(each: AlarmTime) -> dict[str, object]:
    return {
        "alarm": each.alarm,
        "printer": each.printer,
        "segment": each.segment,
        "heard_ms": each.heard_ms,
        "raised_ms": each.raised_ms,
        "sent_ms": each.sent_ms,
        "together_ms": each.together_ms,
    }


def _matrix(matrix: Matrix) -> dict[str, object]:
    return {
        "table": matrix.table,
        "columns": list(matrix.columns),
        "rows": [{"situation": label, "shows": list(cells)} for label, cells in matrix.rows],
    }


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "kind": finding.kind.value,
        "severity": finding.severity,
        "file": finding.source.file,
        "line": finding.source.line,
        "column": finding.source.column,
        "message": finding.message,
        "example": finding.example or None,
        "accepted": finding.accepted or None,
    }


def _problem(problem: Problem) -> dict[str, object]:
    return {
        "kind": "settings",
        "severity": "error",
        "file": problem.file,
        "line": problem.line,
        "column": problem.column,
        "message": problem.message,
        "example": None,
        "accepted": None,
    }
