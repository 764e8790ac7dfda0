"""``lampwright check``: every problem and every finding of a site."""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.one_line import one_line

if TYPE_CHECKING:
    from bridge.check.finding import Finding
    from bridge.settings.problems import Problem


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
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print what is found."""
    from bridge.check.site import findings
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
    found = findings(site)
    bad = [each for each in found if each.severity != "note"]
    if arguments.json:
        print(json.dumps({"ok": not bad, "findings": [_finding(each) for each in found]}))
        return 1 if bad else 0
    for each in found:
        print(one_line(str(each)))
    counted = (
        f"{len(site.printers)} printers, {len(site.controllers)} controllers, "
        f"{len(site.segments)} segments, {sum(len(t.rows) for t in site.tables.values())} rules, "
        f"{sum(len(t.expect) for t in site.tables.values())} expect cases"
    )
    print(
        f"{directory}: {len(bad)} to mend ({counted})" if bad else f"{directory}: fine ({counted})"
    )
    return 1 if bad else 0


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "kind": finding.kind.value,
        "severity": finding.severity,
        "file": finding.source.file,
        "line": finding.source.line,
        "column": finding.source.column,
        "message": finding.message,
        "example": finding.example or None,
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
    }
