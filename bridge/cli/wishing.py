"""What every command that wishes something has in common: who wishes it, and what came of it.

What is sent are plain lines, held to ``service.wish_lines`` in the tests: a person waits for each
import.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from bridge.cli.asking import Daemon, Said
from bridge.cli.site_argument import site_directory
from bridge.one_line import one_line


@dataclass(frozen=True, slots=True)
class Answered:
    """A wish and what came of it."""

    wish: Said
    taken: bool
    kept: bool
    why: str


def add_who(parser: argparse.ArgumentParser) -> None:
    """Add ``--who`` and ``--json``, which every wish has."""
    parser.add_argument(
        "--who", metavar="NAME", help="who wishes it (default: the user who gives the command)"
    )
    parser.add_argument("--json", action="store_true", help="for programs")


def add_site_option(parser: argparse.ArgumentParser) -> None:
    """Add the site as an option, for commands whose bare words are something else."""
    parser.add_argument(
        "--site",
        metavar="SITE",
        type=Path,
        help="the site's directory (default: config here, then /etc/lampwright)",
    )


def add_alarm(parser: argparse.ArgumentParser) -> None:
    """Add an alarm and whose it is."""
    parser.add_argument("alarm", metavar="ALARM", help="the alarm's name")
    parser.add_argument("--printer", required=True, metavar="P", help="whose alarm it is")


def add_reason(parser: argparse.ArgumentParser) -> None:
    """Add why, which whoever puts an alarm out of sight has to say."""
    parser.add_argument("--reason", required=True, metavar="TEXT", help="why, for those who ask")


def wish(daemon: Daemon, said: Said, arguments: argparse.Namespace) -> Answered:
    """Wish it in the name that was given."""
    who = {} if arguments.who is None else {"who": arguments.who}
    answer = daemon.ask({**said, **who})
    return Answered(said, bool(answer["taken"]), bool(answer["kept"]), str(answer["why"]))


def tell(answers: Iterable[Answered], *, as_json: bool) -> int:
    """Say what came of each; 0 where all were taken, 1 where one was refused or none was made."""
    told = list(answers)
    if as_json:
        lines = [
            {"wish": each.wish, "taken": each.taken, "kept": each.kept, "why": each.why}
            for each in told
        ]
        print(json.dumps({"answers": lines}))
    else:
        for each in told:
            print(one_line(each.why if each.taken else f"refused: {each.why}"))
    return 0 if told and all(each.taken for each in told) else 1


def wish_once(said: Said, arguments: argparse.Namespace) -> int:
    """Wish just this, and say what came of it."""
    with Daemon(site_directory(arguments.site), os.environ) as daemon:
        answer = wish(daemon, said, arguments)
    return tell([answer], as_json=arguments.json)


def wish_about_alarm(word: str, arguments: argparse.Namespace, **more: object) -> int:
    """Wish this about the alarm of ``add_alarm``; ``more`` are the wish's other fields."""
    said = {"wish": word, "alarm": arguments.alarm, "printer": arguments.printer, **more}
    return wish_once(said, arguments)
