"""``lampwright provision``: what controllers store, put right by hand: segments, the boot look."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.one_line import one_line

if TYPE_CHECKING:
    from pathlib import Path

    from bridge.check.visit import Visit
    from bridge.engine.site import Site


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "provision",
        help=COMMANDS["provision"],
        description="Visits every controller and says what it stores otherwise than the site has "
        "it: which pixels a segment is, and the look that it shows by itself at power-up (off "
        "watch). With --write that is put right, and looked at again. The running bridge does the "
        "same by itself; stored settings wear out, so that nothing is written that is right. "
        "Exit code 0 where nothing differs any more, 1 where something does.",
        epilog="example: lampwright provision config --write",
    )
    add_site(parser)
    parser.add_argument("--write", action="store_true", help="put right what differs")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Visit, say what differs, and with leave put it right."""
    import asyncio
    import os

    from bridge.cli.live import visit_lines
    from bridge.service.visiting import take_site, visit_all
    from bridge.settings.load import load_site

    directory = site_directory(arguments.site)
    site = load_site(directory)
    take_site(directory, "it provisions them by itself: stop it first to do it by hand")
    visits = asyncio.run(visit_all(site, os.environ))
    for line in visit_lines(site, visits):
        print(one_line(line))
    if not arguments.write:
        return _ended(visits, directory)
    wrote = asyncio.run(_write(site, visits))
    if not wrote:
        print("nothing is stored otherwise than the site has it")
        return _ended(visits, directory)
    for line in wrote:
        print(one_line(line))
    again = asyncio.run(visit_all(site, os.environ))
    for line in visit_lines(site, again):
        print(one_line(line))
    return _ended(again, directory)


def _ended(visits: list[Visit], directory: Path) -> int:
    stored = sum(visit.stored_unlike for visit in visits)
    wrong = any(visit.wrong for visit in visits)
    if stored and not wrong:
        print(f"{stored} to put right: lampwright provision {directory} --write")
    return 1 if stored or wrong else 0


async def _write(site: Site, visits: list[Visit]) -> list[str]:
    import os

    from bridge.check.visit import Visiting
    from bridge.service.visiting import ask

    lines = []
    for visit in visits:
        if visit.wrong:
            continue  # nobody knows who that is
        visiting = Visiting(site, site.controllers[visit.controller])
        for question, reply in await ask(visiting, visiting.provisions(visit), os.environ):
            answer = visiting.dialect.answer(question.purpose, reply.status, reply.body)
            said = reply.failure or str(answer)
            lines.append(f"{visit.controller}: {question.prepared}: {said}")
    return lines
