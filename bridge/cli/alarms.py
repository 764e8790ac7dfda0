"""``lampwright alarms``: what stands now, who is wanted, and what is held."""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from bridge.cli.asking import Daemon
from bridge.cli.commands import COMMANDS
from bridge.cli.site_argument import add_site, site_directory
from bridge.one_line import one_line

#: Of an alarm as the view has it: how rules read it when it tells nothing, and when nobody knows.
_NORMAL: Final = "normal"
_UNKNOWN: Final = "unknown"
_MARKS: Final = ("unconfirmed", "escalated", "standing", "chattering")
_PRIORITIES: Final = ("high", "medium", "low")
_HEAD: Final = ("PRINTER", "NAME", "STATE", "SINCE", "OCCURRENCE", "WHAT TO DO")

#: A part of the picture, or what is told of it.
Part = dict[str, Any]


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command."""
    parser = commands.add_parser(
        "alarms",
        help=COMMANDS["alarms"],
        description="Asks the daemon of a site which alarms are not normal, which prompts wait "
        "for somebody, and which segments are held. An alarm is unconfirmed while what it depends "
        "on is not known, standing after a day, and chattering when it comes and goes.",
        epilog="example: lampwright alarms config",
    )
    add_site(parser)
    parser.add_argument("--json", action="store_true", help="for programs")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Ask, and list."""
    with Daemon(site_directory(arguments.site), os.environ) as daemon:
        view = daemon.ask({"ask": "view"})
    now = datetime.now().astimezone()
    told = told_of(view, now)
    if arguments.json:
        print(json.dumps(told))
    else:
        print("\n".join(map(one_line, lines_of(told, now))))
    return 0


def told_of(view: Part, now: datetime) -> Part:
    """What is told of a view; the gravest alarm first, then the oldest."""
    alarms = [each for each in view["alarms"] if each["shown"] not in {_NORMAL, _UNKNOWN}]
    alarms.sort(key=lambda each: (_PRIORITIES.index(each["priority"]), -(each["age_ms"] or 0)))
    return {
        "alarms": [_alarm(each, now) for each in alarms],
        "prompts": [_prompt(each, now) for each in view["prompts"] if each["waiting"]],
        "holds": [_hold(each, now) for each in view["holds"]],
        "not_known": [
            {"printer": each["printer"], "alarm": each["alarm"]}
            for each in view["alarms"]
            if each["shown"] == _UNKNOWN
        ],
    }


def _alarm(alarm: Part, now: datetime) -> Part:
    return {
        "printer": alarm["printer"],
        "alarm": alarm["alarm"],
        "state": alarm["shown"],
        "marks": [mark for mark in _MARKS if alarm[mark]],
        "priority": alarm["priority"],
        "since": _ago(alarm["age_ms"], now),
        "until": _end_of_shelf(alarm, now),
        "occurrence": alarm["occurrence"],
        "cause": alarm["cause"],
        "response": alarm["response"],
    }


def _end_of_shelf(alarm: Part, now: datetime) -> str | None:
    """What is out of service besides does not come back with the end of its shelf."""
    until_ms = alarm["shelved_until_wall_ms"]
    if until_ms is None or alarm["shown"] != "shelved":
        return None
    return _iso(datetime.fromtimestamp(until_ms / 1000, now.tzinfo))


def _prompt(prompt: Part, now: datetime) -> Part:
    return {
        "printer": prompt["printer"],
        "prompt": prompt["prompt"],
        "since": _ago(prompt["age_ms"], now),
        "occurrence": prompt["occurrence"],
        "response": prompt["response"],
    }


def _hold(hold: Part, now: datetime) -> Part:
    left_ms = hold["left_ms"]
    return {
        "segment": hold["segment"],
        "scene": hold["scene"],
        "until": _ago(None if left_ms is None else -left_ms, now),
        "who": hold["who"],
    }


def _ago(age_ms: int | None, now: datetime) -> str | None:
    return None if age_ms is None else _iso(now - timedelta(milliseconds=age_ms))


def _iso(instant: datetime) -> str:
    return instant.isoformat(timespec="seconds")


# For people


def lines_of(told: Part, now: datetime) -> Iterator[str]:
    """A table of what waits for somebody, then the holds, then what nobody knows."""
    rows = [
        (
            each["printer"],
            each["alarm"],
            _state(each, now),
            _when(each["since"], now),
            each["occurrence"] or "",
            each["response"] or each["cause"],
        )
        for each in told["alarms"]
    ]
    rows += [
        (
            each["printer"],
            each["prompt"],
            "waiting",
            _when(each["since"], now),
            each["occurrence"] or "",
            each["response"],
        )
        for each in told["prompts"]
    ]
    if rows:
        yield from _columns([_HEAD, *rows])
    elif told["not_known"]:
        yield "no alarm is known to stand; of some nobody knows"
    else:
        yield "no alarm stands, and nobody is wanted"
    for each in told["holds"]:
        until = f"until {_when(each['until'], now)}" if each["until"] else "until released"
        yield f"{each['segment']} is held in {each['scene']} {until} by {each['who']}"
    open_: dict[str, list[str]] = {}
    for each in told["not_known"]:
        open_.setdefault(each["printer"], []).append(each["alarm"])
    for printer, alarms in open_.items():
        yield f"of {printer} nobody knows: {', '.join(alarms)}"


def _state(alarm: Part, now: datetime) -> str:
    until = f" until {_when(alarm['until'], now)}" if alarm["until"] else ""
    return ", ".join([alarm["state"] + until, *alarm["marks"]])


def _when(iso: str | None, now: datetime) -> str:
    """The time of day, with its date where that is another."""
    if iso is None:
        return ""
    instant = datetime.fromisoformat(iso)
    same_day = instant.date() == now.date()
    return instant.strftime("%H:%M" if same_day else "%Y-%m-%d %H:%M")


def _columns(rows: Sequence[Sequence[str]]) -> Iterable[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        cells = (f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))
        yield "  ".join(cells).rstrip()
