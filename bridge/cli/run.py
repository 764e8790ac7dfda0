"""``lampwright run``: the bridge itself, or a look at what it would show."""

from __future__ import annotations

import argparse

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "run",
        help=COMMANDS["run"],
        description="Subscribes to the printers, decides what each segment shows, and keeps the "
        "controllers so. With --dry-run it hears the same printers under a client id of its own, "
        "sends nothing to any controller, and draws the segments here.",
        epilog="example: lampwright run config --dry-run",
    )
    add_site(parser)
    parser.add_argument("--dry-run", action="store_true", help="send nothing, draw here")
    parser.add_argument(
        "--poll",
        action="store_true",
        help="with --dry-run: poll and ask printers even while a daemon runs this site",
    )
    parser.add_argument(
        "--json", action="store_true", help="with --dry-run: one JSON line for each change"
    )
    parser.add_argument("--plain", action="store_true", help="with --dry-run: no drawing in place")
    parser.add_argument(
        "--log-level", choices=("debug", "info", "warning", "error"), default="info"
    )
    parser.add_argument(
        "--summary",
        metavar="FILE",
        type=argparse.FileType("w", encoding="utf-8"),
        help="write counts and decisions there as JSON when it ends",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Run until told to stop."""
    import asyncio
    import os
    import sys

    from bridge.service.log import note_logger, quiet_libraries
    from bridge.service.running import Loaded, run_dry, run_site
    from bridge.settings.load import digest_of, load_site

    directory = site_directory(arguments.site)
    site = load_site(directory)
    loaded = Loaded(directory, site, digest_of(site))
    quiet_libraries()
    if not arguments.dry_run:
        note = note_logger(sys.stderr, os.environ, least=arguments.log_level)
        return asyncio.run(
            run_site(
                loaded,
                note=note,
                environment=os.environ,
                summary=arguments.summary,
            )
        )
    from bridge.cli.drawing import drawing_for

    return asyncio.run(
        run_dry(
            loaded,
            drawing=drawing_for(site, sys.stdout, os.environ, arguments),
            environment=os.environ,
            leave_to_poll=arguments.poll,
        )
    )
