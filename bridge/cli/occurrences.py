"""Which occurrences of alarms or prompts a command means: exactly those that it saw.

A wish names its occurrence, so that one which is raised meanwhile is not silenced unseen.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from bridge.cli.asking import Daemon, Said
from bridge.cli.site_argument import add_site, site_directory
from bridge.cli.wishing import add_who, tell, wish
from bridge.errors import LampwrightError
from bridge.one_line import one_line

#: An alarm or a prompt as the daemon's view has it.
Seen = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Kind:
    """What a command wishes of what it finds: ``word`` at the socket, ``waits`` where it may."""

    word: str
    #: ``alarm`` or ``prompt``.
    what: str
    done: str
    waits: Callable[[Seen], bool]


ACKNOWLEDGE: Final = Kind(
    "acknowledge",
    "alarm",
    "acknowledged",
    lambda alarm: alarm["shown"] in {"unacknowledged", "returned"},
)
RESET: Final = Kind("reset", "alarm", "reset", lambda alarm: alarm["shown"] == "latched")
COLLECTED: Final = Kind("collected", "prompt", "collected", lambda prompt: bool(prompt["waiting"]))


class WhichError(LampwrightError):
    """It is not clear which occurrence is meant; one line for each that may be."""

    def __init__(self, *lines: str) -> None:
        super().__init__(lines[0])
        self._lines = lines

    def lines(self) -> tuple[str, ...]:
        """The question, and what there is."""
        return self._lines


def add_which(parser: argparse.ArgumentParser, kind: Kind) -> None:
    """Add SITE and what says which of them is meant."""
    add_site(parser)
    what = kind.what
    parser.add_argument("--printer", metavar="P", help=f"the {what}s of this printer")
    parser.add_argument(
        f"--{what}", metavar=what[0].upper(), dest="name", help=f"the {what}s of this name"
    )
    parser.add_argument(
        "--occurrence", metavar="O", help="just this one, as 'lampwright alarms' names it"
    )
    parser.add_argument("--all", action="store_true", help="all that wait for it")
    add_who(parser)


def wish_each(kind: Kind, arguments: argparse.Namespace) -> int:
    """Wish it of each occurrence that is meant, and say what came of it."""
    with Daemon(site_directory(arguments.site), os.environ) as daemon:
        said = list(_meant(kind, daemon, arguments))
        answers = [wish(daemon, each, arguments) for each in said]
    if not answers and not arguments.json:
        print(f"no {kind.what} waits to be {kind.done}{_narrowed(arguments)}")
    return tell(answers, as_json=arguments.json)


def _meant(kind: Kind, daemon: Daemon, arguments: argparse.Namespace) -> Iterator[Said]:
    is_narrowed = arguments.printer is not None or arguments.name is not None
    if arguments.occurrence is not None:
        if is_narrowed or arguments.all:
            raise WhichError(
                f"--occurrence names just one: leave --printer, --{kind.what} and --all out"
            )
        yield {"wish": kind.word, "occurrence": arguments.occurrence}
        return
    view = daemon.ask({"ask": "view"})
    _check_names(kind, view, arguments)
    waiting = [
        each
        for each in view[f"{kind.what}s"]
        if kind.waits(each)
        and arguments.printer in {None, each["printer"]}
        and arguments.name in {None, each[kind.what]}
    ]
    if len(waiting) > 1 and not is_narrowed and not arguments.all:
        raise WhichError(
            f"{len(waiting)} {kind.what}s wait to be {kind.done}; say which, or --all:",
            *(
                f"  --printer {each['printer']} --{kind.what} {one_line(each[kind.what])}"
                for each in waiting
            ),
        )
    for each in waiting:
        yield {"wish": kind.word, "occurrence": each["occurrence"]}


def _check_names(kind: Kind, view: dict[str, Any], arguments: argparse.Namespace) -> None:
    printers = {each["printer"] for each in view["printers"]}
    _check("printer", arguments.printer, printers)
    _check(kind.what, arguments.name, {each[kind.what] for each in view[f"{kind.what}s"]})


def _check(what: str, name: str | None, known: set[str]) -> None:
    if name is None or name in known:
        return
    import difflib

    near = difflib.get_close_matches(name, known, n=1)
    there = f"known are {', '.join(sorted(known))}" if known else "there is none"
    hint = f"did you mean '{near[0]}'?" if near else there
    raise WhichError(f"no {what} '{name}' in this site; {hint}")


def _narrowed(arguments: argparse.Namespace) -> str:
    printer = f" of {arguments.printer}" if arguments.printer is not None else ""
    return printer + (f" with the name {arguments.name}" if arguments.name is not None else "")
